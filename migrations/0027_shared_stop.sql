-- Several horses that are seen in one yard on one drive. Each has a visit of its own; the stop is what they share.
create table stop (
    id blob primary key check (length(id) = 16),
    made_by blob not null references staff (id),
    made_at integer not null,
    -- rises with every change of a visit of it, so that a calendar knows the newer one
    version integer not null default 1
) strict;
alter table visit add column stop_id blob references stop (id);
create index visit_by_stop on visit (stop_id) where stop_id is not null;
create trigger stop_changes after update of horse_id, vet_id, place, yard_id, starts_at, minutes, state, stop_id on visit
when old.stop_id is not null or new.stop_id is not null
begin
    update stop set version = version + 1 where id in (old.stop_id, new.stop_id);
end;

-- Whom to tell that a visit has another time, or to ring back about one, until somebody says that it was done.
create table to_tell (
    id blob primary key check (length(id) = 16),
    visit_id blob not null references visit (id),
    -- none where nobody belongs to the horse
    client_id blob references client (id),
    -- 'moved': it has a new time; 'ring_back': a time is still to be found
    kind text not null check (kind in ('moved', 'ring_back')),
    -- the time that was told before
    was_at integer not null,
    by_id blob not null references staff (id),
    at integer not null,
    done_at integer,
    done_by blob references staff (id),
    check ((done_at is null) = (done_by is null))
) strict;
create index to_tell_open on to_tell (at) where done_at is null;
create index to_tell_by_visit on to_tell (visit_id);
create trigger to_tell_never_deleted before delete on to_tell
begin
    select raise(abort, 'what_was_to_be_told_is_kept');
end;
