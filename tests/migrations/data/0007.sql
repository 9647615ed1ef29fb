insert into exam_tablet (visit_id, device_id, staff_id, opened_at, open, unsent, reported_at)
values (x'00000000000000000000000000000021', x'00000000000000000000000000000071', x'00000000000000000000000000000001', 1, 1, 3, 2);
