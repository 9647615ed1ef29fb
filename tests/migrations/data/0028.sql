insert into rota_pattern (week, weekday, part, first_id) values (1, 0, 'night', x'00000000000000000000000000000001');
insert into rota_day (day, part, backup_id) values ('2026-03-11', 'day', x'00000000000000000000000000000001');
insert into rota_change (version, what, monday, by_id, at)
values (1, 'pattern', '2026-03-09', x'00000000000000000000000000000001', 1);
update vet_round set phone = '0555 01 99';
