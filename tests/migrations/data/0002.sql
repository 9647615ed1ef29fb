insert into client (id, kind, name, created_at) values (x'00000000000000000000000000000011', 'person', 'C', 1);
insert into client_phone (id, client_id, position, number, digits) values (x'00000000000000000000000000000012', x'00000000000000000000000000000011', 0, '+1 2', '12');
insert into client_address (id, client_id, position, lines) values (x'00000000000000000000000000000013', x'00000000000000000000000000000011', 0, 'Lane');
insert into yard (id, client_id, name, lat, lon, created_at) values (x'00000000000000000000000000000014', x'00000000000000000000000000000011', 'Y', 1.0, 2.0, 1);
insert into horse (id, name, sex, neutered, yard_id, created_at) values (x'00000000000000000000000000000015', 'H', 'male', 'yes', x'00000000000000000000000000000014', 1);
insert into horse_weight (id, horse_id, kg, method, weighed_on, entered_by, created_at)
values (x'00000000000000000000000000000016', x'00000000000000000000000000000015', 500.0, 'tape', '2026-01-01', x'00000000000000000000000000000001', 1);
insert into party (id, horse_id, client_id, role, created_at) values (x'00000000000000000000000000000017', x'00000000000000000000000000000015', x'00000000000000000000000000000011', 'owner', 1);
insert into search_line (words, kind, ref) values ('H Y C', 'horse', 'x');
