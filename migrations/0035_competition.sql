-- Rules under which treated horses compete, as the practice has read them in a body's own text: a set has the days on which
-- it holds, its source, and who read it when.
create table rule_set (
    id blob primary key check (length(id) = 16),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    -- whose rules, and where they hold
    body text not null check (length(body) between 1 and 200 and instr(body, char(0)) = 0),
    jurisdiction text not null check (length(jurisdiction) between 1 and 100 and instr(jurisdiction, char(0)) = 0),
    edition text not null check (length(edition) between 1 and 100 and instr(edition, char(0)) = 0),
    valid_from text not null check (length(valid_from) = 10),
    valid_to text check (valid_to is null or (length(valid_to) = 10 and valid_to >= valid_from)),
    source text not null check (length(source) between 1 and 300 and instr(source, char(0)) = 0),
    read_on text not null check (length(read_on) = 10),
    -- who read it, and when that was entered
    by_id blob not null references staff (id),
    at integer not null,
    version integer not null default 1
) strict;
create trigger rule_set_never_deleted before delete on rule_set
begin
    select raise(abort, 'rule_sets_are_kept');
end;

-- One rule of a set: of a medicine or of a procedure. A rule is struck, never changed.
create table restriction (
    id blob primary key check (length(id) = 16),
    set_id blob not null references rule_set (id),
    -- a medicine of the formulary, with its name as it was, or a procedure in words
    medicine text check (medicine is null or length(medicine) between 1 and 300),
    name text not null check (length(name) between 1 and 300 and instr(name, char(0)) = 0),
    -- empty where any route is meant
    route text not null default '' check (length(route) <= 60 and instr(route, char(0)) = 0),
    kind text not null check (kind in ('detection', 'stand_down')),
    hours integer check (hours between 0 and 20000),
    clear_days integer check (clear_days between 0 and 1000),
    max_dose text not null default '' check (length(max_dose) <= 300 and instr(max_dose, char(0)) = 0),
    source text not null check (length(source) between 1 and 300 and instr(source, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    struck_by blob references staff (id),
    struck_at integer,
    struck_why text not null default '' check (length(struck_why) <= 300 and instr(struck_why, char(0)) = 0),
    check ((hours is null) <> (clear_days is null)),
    check ((struck_by is null) = (struck_at is null))
) strict;
create index restriction_by_set on restriction (set_id);
create trigger restriction_never_changed
before update of id, set_id, medicine, name, route, kind, hours, clear_days, max_dose, source, by_id, at on restriction
begin
    select raise(abort, 'restrictions_are_kept');
end;
create trigger restriction_never_deleted before delete on restriction
begin
    select raise(abort, 'restrictions_are_kept');
end;

-- What a veterinarian adds to a detection time after one treatment, and when its last dose was where the record does not
-- say. The latest word about an entry holds; the earlier ones stay.
create table competition_margin (
    id blob primary key check (length(id) = 16),
    entry_id blob not null references entry (id),
    amount integer check (amount between 1 and 20000),
    unit text check (unit in ('hours', 'days')),
    last_on text check (last_on is null or length(last_on) = 10),
    why text not null default '' check (length(why) <= 300 and instr(why, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    check ((amount is null) = (unit is null)),
    check (amount is not null or last_on is not null)
) strict;
create index competition_margin_by_entry on competition_margin (entry_id);
create trigger competition_margin_never_changed before update on competition_margin
begin
    select raise(abort, 'margins_are_kept');
end;
create trigger competition_margin_never_deleted before delete on competition_margin
begin
    select raise(abort, 'margins_are_kept');
end;
