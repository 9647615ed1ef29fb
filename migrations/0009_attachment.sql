-- Files that belong to the record lie in the data folder, named by their SHA-256; here stands what each is. The entry
-- of the record that speaks of one holds that name, so the chain covers the file too.
create table attachment (
    sha256 text primary key check (length(sha256) = 64),
    kind text not null check (kind in ('image/jpeg', 'image/png', 'image/webp')),
    bytes integer not null check (bytes > 0),
    created_at integer not null
) strict;
create trigger attachment_never_changed before update on attachment
begin
    select raise(abort, 'attachments_are_kept');
end;
