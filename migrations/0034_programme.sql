-- Programmes for the way back to work. What was prescribed, decided and told is entries of the record that name their
-- programme; the row says which visit it came out of and which follow-up stands for its next gate.
create table programme (
    id blob primary key check (length(id) = 16),
    key text not null unique check (length(key) = 36),
    visit_id blob not null references visit (id),
    follow_up_id blob references follow_up (id),
    ended_at integer,
    created_at integer not null
) strict;
create index programme_by_visit on programme (visit_id);
create trigger programme_never_deleted before delete on programme
begin
    select raise(abort, 'programmes_are_kept');
end;

-- A practice's own programmes: a copy of a shipped one or of its own, a step a line.
create table own_programme (
    id blob primary key check (length(id) = 16),
    name text not null collate nocase unique check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    -- on which ground, and how
    ground text not null default '' check (instr(ground, char(0)) = 0),
    -- whose experience it is
    source text not null check (length(source) > 0 and instr(source, char(0)) = 0),
    steps text not null check (length(steps) > 0 and instr(steps, char(0)) = 0),
    in_use integer not null default 1 check (in_use in (0, 1)),
    created_by blob not null references staff (id),
    created_at integer not null,
    version integer not null default 1
) strict;
create trigger own_programme_never_deleted before delete on own_programme
begin
    select raise(abort, 'programmes_are_kept');
end;

-- An entry of a programme comes when it comes: it is no part of what the visit's signature closed.
alter table entry add column programme_id text generated always as (body ->> 'programme') virtual;
create index entry_by_programme on entry (programme_id) where programme_id is not null;
drop trigger entry_after_signing_is_late;
create trigger entry_after_signing_is_late before insert on entry
when (select state from visit where id = new.visit_id) = 'signed' and new.late = 0 and new.body ->> 'order' is null
    and new.body ->> 'programme' is null
    and coalesce(new.body ->> 'kind', '') not in ('addendum', 'adoption', 'moved')
begin
    select raise(abort, 'visit_is_signed');
end;
create trigger entry_names_a_programme before insert on entry
when new.body ->> 'programme' is not null and not exists (
    select 1 from programme p where p.visit_id = new.visit_id and p.key = new.body ->> 'programme')
begin
    select raise(abort, 'programme_of_another_visit');
end;
