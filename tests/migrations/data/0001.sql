insert into practice (id, name, zone, weight_unit, height_unit, temperature_unit, set_up_at)
values (1, 'Sample', 'Europe/Berlin', 'kg', 'cm', 'c', 1);
insert into staff (id, name, role, licensed, password_hash, created_at) values (x'00000000000000000000000000000001', 'V', 'vet', 1, 'x', 1);
insert into staff (id, name, role, licensed, password_hash, created_at) values (x'00000000000000000000000000000002', 'D', 'desk', 0, 'x', 1);
insert into session (id, token_hash, staff_id, created_at, seen_at, expires_at)
values (x'00000000000000000000000000000003', zeroblob(32), x'00000000000000000000000000000001', 1, 1, 2);
insert into submission (id, staff_id, location, at) values (x'00000000000000000000000000000004', x'00000000000000000000000000000001', '/', 1);
