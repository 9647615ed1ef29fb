-- After decisions that were taken back: a match, and a picture that was set aside.
insert into dicom_taken_back (id, object_id, order_id, matched_how, decided_at, reason, by_id, at)
select x'00000000000000000000000000002001', d.id, o.id, 'study_uid', 1, 'the other horse', o.ordered_by, 2
from dicom_object d, diagnostic_order o limit 1;
insert into dicom_taken_back (id, object_id, set_aside_reason, decided_by, decided_at, reason, by_id, at)
select x'00000000000000000000000000002002', d.id, 'a test picture', o.ordered_by, 1, 'it is none', o.ordered_by, 2
from dicom_object d, diagnostic_order o limit 1;
