-- How to get to a yard, a practice with a place, a vet's round, a number of its own, and a drive.
update yard set directions = 'left at the chapel';
update visit set kind = 'recheck', promised = 1 where id = x'00000000000000000000000000000021';
insert into practice_place (id, lat, lon) values (1, 46.2, -30.4);
insert into vet_round (staff_id, hours, starts_at_home, home_lat, home_lon, equipment)
values (x'00000000000000000000000000000001', 'Mon-Fri 8:00-18:00', 1, 46.1, -30.3, 'xray');
insert into practice_figure (code, version, value, reason, changed_by, changed_at)
values ('speed_kmh', 1, 45, 'narrow lanes', x'00000000000000000000000000000001', 1);
insert into departure (visit_id, vet_id, left_at)
values (x'00000000000000000000000000000021', x'00000000000000000000000000000001', 1);
insert into drive (visit_id, vet_id, from_key, to_key, minutes, arrived_at)
values (x'00000000000000000000000000000021', x'00000000000000000000000000000001', 'practice', 'a yard', 20, 2);
