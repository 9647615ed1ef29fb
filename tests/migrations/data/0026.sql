insert into contact (id, client_id, at, channel, way, person, words, by_id, entered_at)
values (x'00000000000000000000000000002601', x'00000000000000000000000000000011', 1, 'phone', 'in', 'C', 'Called.', x'00000000000000000000000000000002', 1);
insert into contact_wish (id, client_id, channel, wanted, by_id, at)
values (x'00000000000000000000000000002602', x'00000000000000000000000000000011', 'text', 0, x'00000000000000000000000000000002', 1);
insert into message_text (kind, words, changed_by, changed_at) values ('late', 'Late.', x'00000000000000000000000000000001', 1);
