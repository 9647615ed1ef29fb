-- Two rows that were one client or one horse. What hung on the one that went hangs on the one that stayed; here stands
-- what the row said, and where its old address leads. The record names visits, so no entry of it is touched.
create table merged (
    old_id blob primary key check (length(old_id) = 16),
    kind text not null check (kind in ('client', 'horse')),
    -- the one that stayed; when that one goes into another, this is set to the other
    kept_id blob not null check (length(kept_id) = 16 and kept_id <> old_id),
    -- JSON: the row that went, and the row that stayed as it was before
    old_row text not null,
    kept_row text not null,
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null
) strict;
create index merged_by_kept on merged (kept_id);
create trigger merged_never_deleted before delete on merged
begin
    select raise(abort, 'merges_are_kept');
end;
create trigger merged_stays before update of old_id, kind, old_row, kept_row, reason, by_id, at on merged
begin
    select raise(abort, 'merges_are_kept');
end;

-- Who belonged to a horse before. What was said with them and what they owed is not shown to who comes after.
create table party_past (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    client_id blob not null references client (id),
    role text not null,
    began_at integer not null,
    ended_at integer not null,
    ended_by blob not null references staff (id)
) strict;
create index party_past_by_horse on party_past (horse_id);
create index party_past_by_client on party_past (client_id);

-- A vet's calendar at an address that cannot be guessed. It is kept as it is, so that it can be shown again on another
-- telephone: whoever reads this file reads the visits too.
create table calendar_feed (
    secret text primary key check (length(secret) = 64),
    staff_id blob not null unique references staff (id),
    made_at integer not null
) strict;

-- A visit that went to another vet stays in the first one's calendar, as cancelled.
create table visit_left (
    visit_id blob not null references visit (id),
    staff_id blob not null references staff (id),
    starts_at integer not null,
    minutes integer not null,
    primary key (visit_id, staff_id)
) strict, without rowid;
create trigger visit_leaves_its_vet after update of vet_id on visit
when old.vet_id is not null and new.vet_id is not old.vet_id
begin
    insert into visit_left (visit_id, staff_id, starts_at, minutes)
    values (old.id, old.vet_id, old.starts_at, old.minutes)
    on conflict (visit_id, staff_id) do update set starts_at = excluded.starts_at, minutes = excluded.minutes;
end;
create trigger visit_comes_back after update of vet_id on visit when new.vet_id is not null
begin
    delete from visit_left where visit_id = new.id and staff_id = new.vet_id;
end;

-- What a calendar says of a visit beside its time.
alter table practice add column calendar_shows text not null default 'yard'
    check (calendar_shows in ('time', 'yard', 'horse', 'client'));
