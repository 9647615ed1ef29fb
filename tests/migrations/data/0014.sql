-- After objects of DICOM: one that was matched, one that waits.
insert into dicom_caller (ae_title, note, added_by, added_at) select 'XRAY1', 'the room', id, 1 from staff limit 1;
insert into attachment (sha256, kind, bytes, created_at)
values ('1400000000000000000000000000000000000000000000000000000000000000', 'application/dicom', 1, 1);
insert into dicom_object (id, sop_instance_uid, sha256, transfer_syntax, sop_class, received_at, source)
values (x'00000000000000000000000000001401', '2.25.1401', '1400000000000000000000000000000000000000000000000000000000000000',
        '1.2.840.10008.1.2', '1.2.840.10008.5.1.4.1.1.1', 1, 'network'),
       (x'00000000000000000000000000001402', '2.25.1402', '1400000000000000000000000000000000000000000000000000000000000000',
        '1.2.840.10008.1.2', '1.2.840.10008.5.1.4.1.1.1', 1, 'upload');
update dicom_object set order_id = x'00000000000000000000000000001301', item_id = x'00000000000000000000000000001302',
    matched_how = 'study_uid', matched_at = 1 where sop_instance_uid = '2.25.1401';
