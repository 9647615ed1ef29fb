-- A weight by a formula and two scores of the first horse.
insert into horse_weight (id, horse_id, kg, method, weighed_on, entered_by, created_at, formula, measures)
select x'00000000000000000000000000003001', h.id, 544, 'formula', '2026-03-01', s.id, 1, 'hall_adult',
       '{"girth_cm":195,"length_cm":170}'
from (select id from horse limit 1) h, (select id from staff limit 1) s;
insert into horse_condition (id, horse_id, code, score, how, scored_on, entered_by, created_at)
select x'00000000000000000000000000003002', h.id, 'bcs', 6.5, 'sites', '2026-03-01', s.id, 1
from (select id from horse limit 1) h, (select id from staff limit 1) s;
