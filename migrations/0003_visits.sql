create table visit (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    -- who called about it
    client_id blob references client (id),
    vet_id blob references staff (id),
    place text not null check (place in ('yard', 'clinic')),
    yard_id blob references yard (id),
    starts_at integer not null,
    minutes integer not null check (minutes between 5 and 720),
    urgent integer not null default 0 check (urgent in (0, 1)),
    -- begun at the horse without a booking
    walk_in integer not null default 0 check (walk_in in (0, 1)),
    state text not null default 'booked'
        check (state in ('booked', 'arrived', 'in_hand', 'to_sign', 'signed', 'did_not_come', 'cancelled')),
    created_by blob not null references staff (id),
    created_at integer not null,
    signed_by blob references staff (id),
    signed_at integer,
    version integer not null default 1,
    check ((state = 'signed') = (signed_at is not null)),
    check ((signed_at is null) = (signed_by is null))
) strict;
create index visit_by_start on visit (starts_at);
create index visit_by_horse on visit (horse_id, starts_at);
create index visit_by_vet on visit (vet_id, starts_at);

-- A vet is in one place at a time: the last word, under whatever the pages asked first.
create trigger visit_no_overlap_insert before insert on visit
when new.vet_id is not null and new.walk_in = 0 and new.state = 'booked' and exists (
    select 1 from visit v
    where v.vet_id = new.vet_id and v.walk_in = 0 and v.state not in ('cancelled', 'did_not_come')
      and v.starts_at < new.starts_at + new.minutes * 60000
      and v.starts_at + v.minutes * 60000 > new.starts_at
      and v.starts_at > new.starts_at - 43200000)
begin
    select raise(abort, 'vet_overlap');
end;
create trigger visit_no_overlap_update before update of vet_id, starts_at, minutes on visit
when new.vet_id is not null and new.walk_in = 0 and new.state = 'booked' and exists (
    select 1 from visit v
    where v.id <> new.id and v.vet_id = new.vet_id and v.walk_in = 0
      and v.state not in ('cancelled', 'did_not_come')
      and v.starts_at < new.starts_at + new.minutes * 60000
      and v.starts_at + v.minutes * 60000 > new.starts_at
      and v.starts_at > new.starts_at - 43200000)
begin
    select raise(abort, 'vet_overlap');
end;
-- A signed visit stays as it was signed; only its horse may be put right, with a trace in the record.
create trigger visit_signed_stays before update on visit
when old.state = 'signed' and (new.state <> 'signed' or new.signed_at <> old.signed_at
    or new.signed_by <> old.signed_by or new.starts_at <> old.starts_at or new.vet_id is not old.vet_id)
begin
    select raise(abort, 'visit_is_signed');
end;
create trigger visit_never_deleted before delete on visit
begin
    select raise(abort, 'visits_are_kept');
end;

-- Booked, moved, cancelled, begun: who did what to a visit, and why.
create table visit_change (
    id blob primary key check (length(id) = 16),
    visit_id blob not null references visit (id),
    at integer not null,
    by_id blob not null references staff (id),
    what text not null,
    detail text not null default '' check (instr(detail, char(0)) = 0),
    reason text not null default '' check (instr(reason, char(0)) = 0)
) strict;
create index visit_change_by_visit on visit_change (visit_id, at);

create table complaint (
    id blob primary key check (length(id) = 16),
    visit_id blob not null references visit (id),
    position integer not null,
    words text not null check (length(words) between 1 and 2000 and instr(words, char(0)) = 0),
    -- a limb, or a part of the body, as catalogue/complaint.toml names them
    site text not null default '',
    since text not null default '' check (instr(since, char(0)) = 0),
    onset text not null default '',
    course text not null default '',
    weight_bearing text not null default '',
    shod_on text not null default '' check (instr(shod_on, char(0)) = 0),
    medicines text not null default '' check (instr(medicines, char(0)) = 0),
    work text not null default '' check (instr(work, char(0)) = 0),
    created_at integer not null,
    version integer not null default 1
) strict;
create index complaint_by_visit on complaint (visit_id, position);
create trigger complaint_signed_stays before update on complaint
when (select state from visit where id = old.visit_id) = 'signed'
begin
    select raise(abort, 'visit_is_signed');
end;
create trigger complaint_never_deleted before delete on complaint
begin
    select raise(abort, 'complaints_are_kept');
end;

-- A vet passes an open case on with a line; it moves when the receiver accepts.
create table handover (
    id blob primary key check (length(id) = 16),
    visit_id blob not null references visit (id),
    from_id blob not null references staff (id),
    to_id blob not null references staff (id),
    line text not null check (length(line) between 1 and 500 and instr(line, char(0)) = 0),
    offered_at integer not null,
    answered_at integer,
    accepted integer check (accepted in (0, 1)),
    check ((answered_at is null) = (accepted is null)),
    check (from_id <> to_id)
) strict;
create index handover_by_visit on handover (visit_id);
create unique index handover_one_open on handover (visit_id) where answered_at is null;
