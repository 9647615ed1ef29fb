-- The practice, who works there, who is signed in, and which forms were already taken.
create table practice (
    id integer primary key check (id = 1),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    zone text not null,
    weight_unit text not null check (weight_unit in ('kg', 'lb')),
    height_unit text not null check (height_unit in ('cm', 'hands')),
    temperature_unit text not null check (temperature_unit in ('c', 'f')),
    lameness_scale text not null default 'aaep_0_5' check (lameness_scale in ('aaep_0_5', 'uk_0_10')),
    exam_order text not null default 'top_down_then_up',
    invented integer not null default 0 check (invented in (0, 1)),
    set_up_at integer not null,
    version integer not null default 1
) strict;

create table staff (
    id blob primary key check (length(id) = 16),
    name text not null collate nocase unique check (length(name) between 1 and 120 and instr(name, char(0)) = 0),
    role text not null check (role in ('owner', 'vet', 'technician', 'desk')),
    -- a veterinarian's licence: every vet has it, an owner may
    licensed integer not null default 0 check (licensed in (0, 1)),
    password_hash text not null,
    pin_hash text,
    active integer not null default 1 check (active in (0, 1)),
    created_at integer not null,
    version integer not null default 1,
    check (role <> 'vet' or licensed = 1),
    check (role not in ('technician', 'desk') or licensed = 0)
) strict;

create table session (
    id blob primary key check (length(id) = 16),
    token_hash blob not null unique check (length(token_hash) = 32),
    staff_id blob not null references staff (id),
    created_at integer not null,
    seen_at integer not null,
    expires_at integer not null,
    shared integer not null default 0 check (shared in (0, 1)),
    locked integer not null default 0 check (locked in (0, 1)),
    pin_failures integer not null default 0,
    agent text not null default '',
    flash text
) strict;
create index session_by_staff on session (staff_id);

-- The effect of a form and its id commit together; a repeat is sent to where the first one led.
create table submission (
    id blob primary key check (length(id) = 16),
    staff_id blob references staff (id),
    location text not null,
    at integer not null
) strict;
