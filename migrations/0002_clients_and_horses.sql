-- Ordinary rows, edited with a version: the record refers to them by id.
create table client (
    id blob primary key check (length(id) = 16),
    kind text not null check (kind in ('person', 'organisation')),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    email text not null default '' check (instr(email, char(0)) = 0),
    note text not null default '' check (instr(note, char(0)) = 0),
    created_at integer not null,
    version integer not null default 1
) strict;
create index client_by_name on client (name collate nocase);

create table client_phone (
    id blob primary key check (length(id) = 16),
    client_id blob not null references client (id),
    position integer not null,
    label text not null default '' check (instr(label, char(0)) = 0),
    number text not null check (length(number) between 1 and 60 and instr(number, char(0)) = 0),
    -- the digits alone, so that any way of writing a number finds it
    digits text not null
) strict;
create index client_phone_by_client on client_phone (client_id);

create table client_address (
    id blob primary key check (length(id) = 16),
    client_id blob not null references client (id),
    position integer not null,
    label text not null default '' check (instr(label, char(0)) = 0),
    lines text not null check (length(lines) between 1 and 500 and instr(lines, char(0)) = 0)
) strict;
create index client_address_by_client on client_address (client_id);

-- A yard stands where horses stand; it may be kept by a client of ours.
create table yard (
    id blob primary key check (length(id) = 16),
    client_id blob references client (id),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    address text not null default '' check (instr(address, char(0)) = 0),
    lat real check (lat between -90 and 90),
    lon real check (lon between -180 and 180),
    note text not null default '' check (instr(note, char(0)) = 0),
    created_at integer not null,
    version integer not null default 1,
    check ((lat is null) = (lon is null))
) strict;
create index yard_by_client on yard (client_id);

create table horse (
    id blob primary key check (length(id) = 16),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    stable_name text not null default '' check (instr(stable_name, char(0)) = 0),
    sex text not null check (sex in ('male', 'female', 'unknown')),
    neutered text not null check (neutered in ('yes', 'no', 'unknown')),
    -- 'YYYY' or 'YYYY-MM-DD', or empty when nobody knows
    born text not null default '',
    breed text not null default '' check (instr(breed, char(0)) = 0),
    breed_code text,
    colour text not null default '' check (instr(colour, char(0)) = 0),
    markings text not null default '' check (instr(markings, char(0)) = 0),
    height_cm real check (height_cm between 30 and 250),
    work_use text not null default '' check (instr(work_use, char(0)) = 0),
    work_level text not null default '' check (instr(work_level, char(0)) = 0),
    microchip text not null default '',
    -- a transponder outside ISO 11784, with the reading system it needs
    microchip_other text not null default '' check (instr(microchip_other, char(0)) = 0),
    ueln text not null default '',
    passport text not null default '' check (instr(passport, char(0)) = 0),
    food_chain text not null default 'unknown' check (food_chain in ('eligible', 'excluded', 'unknown')),
    insurance text not null default '' check (instr(insurance, char(0)) = 0),
    -- catalogue codes separated by blanks, then the practice's own words
    temperament text not null default '' check (instr(temperament, char(0)) = 0),
    temperament_note text not null default '' check (instr(temperament_note, char(0)) = 0),
    status text not null default 'here' check (status in ('here', 'sold', 'retired', 'dead')),
    status_on text,
    yard_id blob references yard (id),
    created_at integer not null,
    version integer not null default 1,
    check (status = 'here' or status_on is not null)
) strict;
create index horse_by_name on horse (name collate nocase);
create index horse_by_yard on horse (yard_id);

create table horse_weight (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    kg real not null check (kg between 1 and 2000),
    method text not null check (method in ('scale', 'tape', 'estimate')),
    weighed_on text not null,
    entered_by blob not null references staff (id),
    created_at integer not null
) strict;
create index horse_weight_by_horse on horse_weight (horse_id, weighed_on);

create table party (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    client_id blob not null references client (id),
    role text not null check (role in ('owner', 'trainer', 'agent', 'keeper', 'rider', 'farrier')),
    may_authorise integer not null default 0 check (may_authorise in (0, 1)),
    pays integer not null default 0 check (pays in (0, 1)),
    gets_reports integer not null default 0 check (gets_reports in (0, 1)),
    created_at integer not null,
    unique (horse_id, client_id, role)
) strict;
create index party_by_client on party (client_id);

-- What the search box looks through: one line a client, horse or yard, any three letters of it.
create virtual table search_line using fts5 (words, kind unindexed, ref unindexed, tokenize = 'trigram');
