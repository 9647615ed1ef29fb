-- How to find a yard, beside the note about what is there.
alter table yard add column directions text not null default '' check (instr(directions, char(0)) = 0);

-- What a visit is for (a kind of catalogue/data/road.toml), and whether its time was promised.
alter table visit add column kind text not null default '' check (instr(kind, char(0)) = 0);
alter table visit add column promised integer not null default 0 check (promised in (0, 1));

-- Where the practice stands.
create table practice_place (
    id integer primary key check (id = 1),
    lat real not null check (lat between -90 and 90),
    lon real not null check (lon between -180 and 180),
    version integer not null default 1
) strict;

-- A vet's hours, where the day begins, and what the vehicle carries. Without a row the practice's usual day holds, and
-- the vehicle is taken to carry what is needed.
create table vet_round (
    staff_id blob primary key references staff (id),
    -- as it is shown: "Mon-Fri 8:00-18:00, Sat 8:00-12:00"
    hours text not null check (instr(hours, char(0)) = 0),
    -- weekdays on which nobody drives out: "mon thu"
    clinic_days text not null default '' check (instr(clinic_days, char(0)) = 0),
    starts_at_home integer not null check (starts_at_home in (0, 1)),
    home_lat real check (home_lat between -90 and 90),
    home_lon real check (home_lon between -180 and 180),
    equipment text not null default '' check (instr(equipment, char(0)) = 0),
    version integer not null default 1,
    check ((home_lat is null) = (home_lon is null))
) strict;

-- The practice's own numbers about roads. It only grows: the highest version of a code holds.
create table practice_figure (
    code text not null check (length(code) between 1 and 40),
    version integer not null check (version >= 1),
    -- none: back to the shipped value
    value real,
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    changed_by blob not null references staff (id),
    changed_at integer not null,
    primary key (code, version)
) strict, without rowid;
create trigger practice_figure_never_changed before update on practice_figure
begin
    select raise(abort, 'figures_are_kept');
end;
create trigger practice_figure_never_deleted before delete on practice_figure
begin
    select raise(abort, 'figures_are_kept');
end;

-- When a vet drove off from a visit.
create table departure (
    visit_id blob primary key references visit (id),
    vet_id blob not null references staff (id),
    left_at integer not null
) strict;
create index departure_by_vet on departure (vet_id, left_at);

-- A drive whose beginning and end were both told: legs are learned from it.
create table drive (
    -- the visit that was driven to
    visit_id blob primary key references visit (id),
    vet_id blob not null references staff (id),
    from_key text not null check (instr(from_key, char(0)) = 0),
    to_key text not null check (instr(to_key, char(0)) = 0),
    minutes integer not null check (minutes between 1 and 300),
    arrived_at integer not null
) strict;
