-- After videos in pieces: one of which the first piece is here, and the submission of another that was kept.
insert into video_upload (id, staff_id, visit_id, name, bytes, digest, condition, begun_at)
select x'00000000000000000000000000001801', created_by, id, 'trot.mov', 5000000,
       '1800000000000000000000000000000000000000000000000000000000000000', 'TRT_SH', 1 from visit limit 1;
insert into video_piece (upload_id, number) values (x'00000000000000000000000000001801', 0);
insert into submission (id, staff_id, location, at, route, content)
select x'00000000000000000000000000001802', id, '/', 1, '/videos/uploads',
       '1800000000000000000000000000000000000000000000000000000000000000' from staff limit 1;
