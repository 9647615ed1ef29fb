-- How long this practice keeps a record, and whose rule holds for copies of it.
create table record_keeping (
    id integer primary key check (id = 1),
    -- null where the usual number of the catalogue holds
    years integer check (years between 1 and 100),
    -- a copy rule of catalogue/data/records.toml; empty where none was chosen
    copy_rule text not null default '' check (length(copy_rule) <= 40),
    version integer not null default 1
) strict;
insert into record_keeping (id) values (1);

-- A record that must not go while something is not resolved. A hold is lifted, never changed.
create table legal_hold (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    lifted_by blob references staff (id),
    lifted_at integer,
    lifted_why text not null default '' check (length(lifted_why) <= 500 and instr(lifted_why, char(0)) = 0),
    check ((lifted_by is null) = (lifted_at is null))
) strict;
create index legal_hold_by_horse on legal_hold (horse_id);
create trigger legal_hold_never_deleted before delete on legal_hold
begin
    select raise(abort, 'holds_are_kept');
end;

-- Somebody asked for a copy of a record, and what became of it.
create table record_copy (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    asked_by text not null check (length(asked_by) between 1 and 200 and instr(asked_by, char(0)) = 0),
    how text not null check (length(how) between 1 and 100 and instr(how, char(0)) = 0),
    what text not null default '' check (length(what) <= 500 and instr(what, char(0)) = 0),
    asked_on text not null check (length(asked_on) = 10),
    -- by the rule of that day; null where none held
    due_on text check (due_on is null or length(due_on) = 10),
    by_id blob not null references staff (id),
    at integer not null,
    given_on text check (given_on is null or length(given_on) = 10),
    given_how text not null default '' check (length(given_how) <= 200 and instr(given_how, char(0)) = 0),
    given_by blob references staff (id),
    given_at integer,
    check ((given_on is null) = (given_by is null) and (given_on is null) = (given_at is null))
) strict;
create index record_copy_by_horse on record_copy (horse_id);
create index record_copy_open on record_copy (due_on) where given_on is null;
create trigger record_copy_never_deleted before delete on record_copy
begin
    select raise(abort, 'copies_are_kept');
end;
