-- The submission of an upload is bound to more than its account: to its route and to the digest of what it carried.
-- Both are empty for forms that carry no file.
alter table submission add column route text not null default '' check (instr(route, char(0)) = 0);
alter table submission add column content text not null default '' check (length(content) in (0, 64));

-- A video that comes in pieces, under the submission id that it will use up. It stands here until it is kept or
-- refused; what is kept is an entry of the record with its file, as a photo is.
create table video_upload (
    id blob primary key check (length(id) = 16),
    staff_id blob not null references staff (id),
    visit_id blob not null references visit (id),
    name text not null check (length(name) between 1 and 100 and instr(name, char(0)) = 0),
    bytes integer not null check (bytes between 1 and 1073741824),
    -- the SHA-256 over the SHA-256 of each piece, in order
    digest text not null check (length(digest) = 64),
    -- a condition of the catalogue and a place as forms write it; one of them is there
    condition text not null default '' check (instr(condition, char(0)) = 0),
    site text not null default '' check (instr(site, char(0)) = 0),
    words text not null default '' check (instr(words, char(0)) = 0),
    -- when somebody last began it or went on with it
    begun_at integer not null,
    check (condition <> '' or site <> '')
) strict;
create index video_upload_by_visit on video_upload (visit_id);

-- A piece that is safe in the data folder.
create table video_piece (
    upload_id blob not null references video_upload (id) on delete cascade,
    number integer not null check (number between 0 and 255),
    primary key (upload_id, number)
) strict;
