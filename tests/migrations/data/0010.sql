-- After one-use codes.
insert into staff (id, name, role, licensed, password_hash, code_until, created_at) values (x'00000000000000000000000000000101', 'New Vet', 'vet', 1, 'x', 86400000, 1);
insert into staff (id, name, role, licensed, password_hash, code_until, created_at) values (x'00000000000000000000000000000102', 'New Desk', 'desk', 0, 'x', 0, 1);
