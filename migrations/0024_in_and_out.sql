-- What was done with the practice's data as a whole: brought in, taken out, put together, shown elsewhere.
create table audit (
    id blob primary key check (length(id) = 16),
    at integer not null,
    by_id blob not null references staff (id),
    what text not null check (length(what) between 1 and 60),
    detail text not null default '' check (length(detail) <= 1000 and instr(detail, char(0)) = 0)
) strict;
create index audit_by_time on audit (at);
create trigger audit_never_changed before update on audit
begin
    select raise(abort, 'the_audit_is_kept');
end;
create trigger audit_never_deleted before delete on audit
begin
    select raise(abort, 'the_audit_is_kept');
end;

-- A table of clients and horses on its way in. Nothing of it is anybody's until it is done.
create table import (
    id blob primary key check (length(id) = 16),
    -- what the file was called
    name text not null check (length(name) between 1 and 100 and instr(name, char(0)) = 0),
    -- JSON: the headings, what they were taken for, and what was odd about the file
    header text not null,
    columns text not null,
    notes text not null default '[]',
    row_count integer not null check (row_count > 0),
    -- what becomes of rows that may be somebody who is here already, where nobody said otherwise
    likely text not null default 'ask' check (likely in ('ask', 'same', 'new', 'leave')),
    state text not null default 'columns' check (state in ('columns', 'preview', 'running', 'done', 'undone')),
    -- why the last run came to nothing
    fault text not null default '' check (instr(fault, char(0)) = 0),
    staged_by blob not null references staff (id),
    staged_at integer not null,
    ended_by blob references staff (id),
    ended_at integer,
    version integer not null default 1
) strict;

create table import_row (
    import_id blob not null references import (id) on delete cascade,
    number integer not null check (number > 0),
    -- where it begins in the file
    line integer not null,
    -- JSON: its cells
    cells text not null,
    -- what is wrong with it, in sentences; a row with something wrong is not entered
    torn text not null default '',
    wrong text not null default '',
    -- who it may be: no references, since they may be gone by the time it is read again
    client_id blob,
    horse_id blob,
    -- there is no doubt about either
    certain integer not null default 0 check (certain in (0, 1)),
    why text not null default '',
    choice text not null default '' check (choice in ('', 'same', 'new', 'leave')),
    result text not null default '' check (result in ('', 'entered', 'there', 'left', 'wrong')),
    said text not null default '',
    primary key (import_id, number)
) strict, without rowid;

-- What an import made, so that it can be taken back.
create table import_made (
    import_id blob not null references import (id),
    kind text not null check (kind in ('client', 'horse', 'yard', 'party')),
    id blob not null check (length(id) = 16),
    primary key (import_id, kind, id)
) strict, without rowid;

create index visit_by_client on visit (client_id) where client_id is not null;
create index visit_by_yard on visit (yard_id) where yard_id is not null;
