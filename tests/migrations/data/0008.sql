insert into tablet_key (staff_id, device_id, wrapped_key, created_at)
values (x'00000000000000000000000000000001', x'00000000000000000000000000000080', zeroblob(60), 1);
