-- A hold that was lifted, a copy that was given and one that is due.
update record_keeping set years = 10, copy_rule = 'us_california', version = 2;
insert into legal_hold (id, horse_id, reason, by_id, at, lifted_by, lifted_at, lifted_why)
select x'00000000000000000000000000003601', h.id, 'a letter', s.id, 1, s.id, 2, 'settled'
from (select id from horse limit 1) h, (select id from staff limit 1) s;
insert into record_copy (id, horse_id, asked_by, how, asked_on, due_on, by_id, at)
select x'00000000000000000000000000003602', h.id, 'C', 'letter', '2026-03-01', '2026-03-06', s.id, 1
from (select id from horse limit 1) h, (select id from staff limit 1) s;
insert into record_copy (id, horse_id, asked_by, how, asked_on, by_id, at, given_on, given_how, given_by, given_at)
select x'00000000000000000000000000003603', h.id, 'C', 'telephone', '2026-02-01', s.id, 1, '2026-02-03', 'post', s.id, 2
from (select id from horse limit 1) h, (select id from staff limit 1) s;
