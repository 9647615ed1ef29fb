-- What is known of a horse that a medicine must not meet unasked. A risk that is over stays in sight.
create table horse_risk (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    -- a risk of catalogue/data/care.toml
    code text not null check (length(code) between 1 and 40),
    note text not null default '' check (length(note) <= 300 and instr(note, char(0)) = 0),
    added_by blob not null references staff (id),
    added_at integer not null,
    ended_by blob references staff (id),
    ended_at integer,
    check ((ended_by is null) = (ended_at is null))
) strict;
create index horse_risk_by_horse on horse_risk (horse_id);

-- When a passport was seen, and what it said of the food chain.
create table passport_seen (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    seen_on text not null check (length(seen_on) = 10),
    food_chain text not null check (food_chain in ('eligible', 'excluded')),
    -- when it was signed out
    declared_on text check (declared_on is null or length(declared_on) = 10),
    seen_by blob not null references staff (id),
    at integer not null
) strict;
create index passport_seen_by_horse on passport_seen (horse_id);
create trigger passport_seen_never_changed before update of seen_on, food_chain, declared_on, seen_by, at on passport_seen
begin
    select raise(abort, 'passports_are_kept');
end;
