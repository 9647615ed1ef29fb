-- A set that ended, a rule of it and one that was struck, and a margin after an entry.
insert into rule_set (id, name, body, jurisdiction, edition, valid_from, valid_to, source, read_on, by_id, at)
select x'00000000000000000000000000003501', 'Medication', 'The society', 'UK', '2025', '2025-01-01', '2025-12-31',
       'its handbook', '2025-01-05', id, 1 from staff limit 1;
insert into restriction (id, set_id, medicine, name, route, kind, hours, source, by_id, at)
select x'00000000000000000000000000003502', x'00000000000000000000000000003501', 'flunixin', 'flunixin', 'IV', 'detection',
       144, 'page 4', id, 1 from staff limit 1;
insert into restriction (id, set_id, name, kind, clear_days, source, by_id, at, struck_by, struck_at, struck_why)
select x'00000000000000000000000000003503', x'00000000000000000000000000003501', 'shock-wave', 'stand_down', 5, 'page 5', id, 1,
       id, 2, 'misread' from staff limit 1;
insert into competition_margin (id, entry_id, amount, unit, why, by_id, at)
select x'00000000000000000000000000003504', e.id, 24, 'hours', 'a small pony', s.id, 1
from (select id from entry limit 1) e, (select id from staff limit 1) s;
