insert into attachment (sha256, kind, bytes, created_at)
values ('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', 'image/jpeg', 1, 1);
