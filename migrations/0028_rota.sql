-- Who is called first and who backs up, by day and by night. A night belongs to the day on which it begins.
-- The pattern comes again after as many weeks as the practice has chosen.
create table rota_pattern (
    week integer not null check (week between 1 and 8),
    -- Monday is 0
    weekday integer not null check (weekday between 0 and 6),
    part text not null check (part in ('day', 'night')),
    first_id blob references staff (id),
    backup_id blob references staff (id),
    primary key (week, weekday, part)
) strict, without rowid;

-- Single days that differ from it; where a name is missing, the pattern's holds.
create table rota_day (
    day text not null check (length(day) = 10),
    part text not null check (part in ('day', 'night')),
    first_id blob references staff (id),
    backup_id blob references staff (id),
    primary key (day, part)
) strict, without rowid;

-- Who set the rota and when; the newest number is its version.
create table rota_change (
    version integer primary key,
    -- 'pattern' or 'week'
    what text not null check (what in ('pattern', 'week')),
    -- the Monday of the week that was set
    monday text not null check (length(monday) = 10),
    by_id blob not null references staff (id),
    at integer not null
) strict;
create trigger rota_change_never_changed before update on rota_change
begin
    select raise(abort, 'changes_are_kept');
end;
create trigger rota_change_never_deleted before delete on rota_change
begin
    select raise(abort, 'changes_are_kept');
end;

-- The telephone on which a vet is reached when on call.
alter table vet_round add column phone text not null default '' check (instr(phone, char(0)) = 0);
