-- After programmes.
insert into programme (id, key, visit_id, created_at)
select x'00000000000000000000000000003401', '00000000-0000-0000-0000-000000003401', id, 1 from visit limit 1;
insert into own_programme (id, name, source, steps, created_by, created_at)
select x'00000000000000000000000000003402', 'Ours', 'own cases', '7 | 10 | 0 | 0 | walk', id, 1 from staff limit 1;
