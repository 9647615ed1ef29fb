-- A digest of each row, so that a row that was changed by anything but this program is found: SQLite itself sees only
-- damage of its own structure. `of` is the number of its table in `summed`.
create table summed (
    of integer primary key,
    name text not null unique check (length(name) between 1 and 80)
) strict;
create table row_sum (
    of integer not null,
    row integer not null,
    sum blob not null check (length(sum) = 16),
    primary key (of, row)
) strict, without rowid;

-- How often anything was committed. The high-water mark beside the database keeps the same number.
create table commits (
    id integer primary key check (id = 1),
    n integer not null check (n >= 0)
) strict;
insert into commits (id, n) values (1, 0);

-- The chain over the audit: who changes a line of it later changes every link after it.
create table audit_link (
    seq integer primary key check (seq > 0),
    audit_id blob not null unique references audit (id),
    chain blob not null check (length(chain) = 32)
) strict;
create trigger audit_link_never_changed before update on audit_link
begin
    select raise(abort, 'the_audit_is_kept');
end;
create trigger audit_link_never_deleted before delete on audit_link
begin
    select raise(abort, 'the_audit_is_kept');
end;

-- Where copies of the practice are put by themselves, and how many are kept. Without a folder none are made.
create table backup_plan (
    id integer primary key check (id = 1),
    folder text not null default '' check (length(folder) <= 500 and instr(folder, char(0)) = 0),
    -- the hour of the practice's day
    hour integer not null default 2 check (hour between 0 and 23),
    keep_days integer not null default 7 check (keep_days between 1 and 60),
    keep_weeks integer not null default 5 check (keep_weeks between 0 and 60),
    keep_months integer not null default 12 check (keep_months between 0 and 120),
    version integer not null default 1
) strict;
insert into backup_plan (id) values (1);

-- Rows are watched by their numbers, which a table without them does not have.
create table practice_weight_numbered (
    address text not null check (length(address) between 5 and 120),
    version integer not null check (version >= 1),
    -- none: back to the shipped value
    value real,
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    changed_by blob not null references staff (id),
    changed_at integer not null,
    primary key (address, version)
) strict;
insert into practice_weight_numbered select * from practice_weight;
drop table practice_weight;
alter table practice_weight_numbered rename to practice_weight;
create trigger practice_weight_never_changed before update on practice_weight
begin
    select raise(abort, 'weights_are_kept');
end;
create trigger practice_weight_never_deleted before delete on practice_weight
begin
    select raise(abort, 'weights_are_kept');
end;

create table practice_figure_numbered (
    code text not null check (length(code) between 1 and 40),
    version integer not null check (version >= 1),
    -- none: back to the shipped value
    value real,
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    changed_by blob not null references staff (id),
    changed_at integer not null,
    primary key (code, version)
) strict;
insert into practice_figure_numbered select * from practice_figure;
drop table practice_figure;
alter table practice_figure_numbered rename to practice_figure;
create trigger practice_figure_never_changed before update on practice_figure
begin
    select raise(abort, 'figures_are_kept');
end;
create trigger practice_figure_never_deleted before delete on practice_figure
begin
    select raise(abort, 'figures_are_kept');
end;

create table import_row_numbered (
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
) strict;
insert into import_row_numbered select * from import_row;
drop table import_row;
alter table import_row_numbered rename to import_row;

create table import_made_numbered (
    import_id blob not null references import (id),
    kind text not null check (kind in ('client', 'horse', 'yard', 'party')),
    id blob not null check (length(id) = 16),
    primary key (import_id, kind, id)
) strict;
insert into import_made_numbered select * from import_made;
drop table import_made;
alter table import_made_numbered rename to import_made;

drop trigger visit_leaves_its_vet;
drop trigger visit_comes_back;
create table visit_left_numbered (
    visit_id blob not null references visit (id),
    staff_id blob not null references staff (id),
    starts_at integer not null,
    minutes integer not null,
    primary key (visit_id, staff_id)
) strict;
insert into visit_left_numbered select * from visit_left;
drop table visit_left;
alter table visit_left_numbered rename to visit_left;
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

create table rota_pattern_numbered (
    week integer not null check (week between 1 and 8),
    -- Monday is 0
    weekday integer not null check (weekday between 0 and 6),
    part text not null check (part in ('day', 'night')),
    first_id blob references staff (id),
    backup_id blob references staff (id),
    primary key (week, weekday, part)
) strict;
insert into rota_pattern_numbered select * from rota_pattern;
drop table rota_pattern;
alter table rota_pattern_numbered rename to rota_pattern;

create table rota_day_numbered (
    day text not null check (length(day) = 10),
    part text not null check (part in ('day', 'night')),
    first_id blob references staff (id),
    backup_id blob references staff (id),
    primary key (day, part)
) strict;
insert into rota_day_numbered select * from rota_day;
drop table rota_day;
alter table rota_day_numbered rename to rota_day;
