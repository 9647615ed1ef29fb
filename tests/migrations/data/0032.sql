-- A risk that holds, one that is over, and a passport that was seen.
insert into horse_risk (id, horse_id, code, note, added_by, added_at, ended_by, ended_at)
select x'00000000000000000000000000003201', h.id, 'laminitis', 'autumn', s.id, 1, null, null
from (select id from horse limit 1) h, (select id from staff limit 1) s;
insert into horse_risk (id, horse_id, code, note, added_by, added_at, ended_by, ended_at)
select x'00000000000000000000000000003202', h.id, 'pregnant', '', s.id, 1, s.id, 2
from (select id from horse limit 1) h, (select id from staff limit 1) s;
insert into passport_seen (id, horse_id, seen_on, food_chain, declared_on, seen_by, at)
select x'00000000000000000000000000003203', h.id, '2026-03-01', 'excluded', '2020-01-01', s.id, 1
from (select id from horse limit 1) h, (select id from staff limit 1) s;
