-- After orders of diagnostics.
insert into diagnostic_order (id, number, accession, study_uid, visit_id, study, kind, name, ordered_by, ordered_at)
select x'00000000000000000000000000001301', 1, 'L000001', '2.25.4865', id, 'fetlock', 'radiograph', 'fetlock', created_by, 1
from visit limit 1;
insert into diagnostic_item (id, order_id, position, code, name, side)
values (x'00000000000000000000000000001302', x'00000000000000000000000000001301', 1, 'LM', 'lateromedial', 'LF');
insert into diagnostic_step (id, order_id, at, by_id, what)
select x'00000000000000000000000000001303', id, 1, ordered_by, 'ordered' from diagnostic_order;
