insert into merged (old_id, kind, kept_id, old_row, kept_row, reason, by_id, at)
values (x'00000000000000000000000000002501', 'horse', x'00000000000000000000000000000015', '{}', '{}', 'twice', x'00000000000000000000000000000001', 1);
insert into party_past (id, horse_id, client_id, role, began_at, ended_at, ended_by)
values (x'00000000000000000000000000002502', x'00000000000000000000000000000015', x'00000000000000000000000000000011', 'owner', 1, 2, x'00000000000000000000000000000001');
insert into calendar_feed (secret, staff_id, made_at) values (lower(hex(zeroblob(32))), x'00000000000000000000000000000001', 1);
