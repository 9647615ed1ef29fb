-- A yard that is marked, and one whose mark was lifted.
insert into biosecurity_mark (id, yard_id, kind, disease, from_on, reason, by_id, at)
select x'00000000000000000000000000002901', id, 'suspected', 'strangles', '2026-03-01', 'a cough', x'00000000000000000000000000000001', 1
from yard limit 1;
insert into biosecurity_mark (id, yard_id, kind, from_on, until_on, reason, by_id, at, lifted_by, lifted_at, lifted_reason)
select x'00000000000000000000000000002902', id, 'isolated', '2026-02-01', '2026-02-14', 'came from abroad',
       x'00000000000000000000000000000001', 1, x'00000000000000000000000000000001', 2, 'all clear'
from yard limit 1;
insert into authority (id, name, phone) values (1, 'the office', '0555 00');
