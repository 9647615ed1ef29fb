insert into entry (seq, id, visit_id, body, salt, digest, seen_by, entered_by, seen_at, received_at, prev, chain)
values (1, x'00000000000000000000000000000031', x'00000000000000000000000000000021', '{"kind":"finding","region":"FETL_D","side":"L","limb":"LF","code":"EFF","present":true,"grade":2.0}',
        x'00', zeroblob(32), x'00000000000000000000000000000001', x'00000000000000000000000000000002', 1, 1, zeroblob(32), x'0000000000000000000000000000000000000000000000000000000000000001');
