-- A paper in the practice's own words, as it was kept. What was wrong in it is said in another one.
create table letter (
    id blob primary key check (length(id) = 16),
    visit_id blob not null references visit (id),
    -- a letter of catalogue/data/letters.toml, and how it was called on that day
    kind text not null check (length(kind) between 1 and 40),
    name text not null check (length(name) between 1 and 100),
    addressee text not null check (length(addressee) <= 200 and instr(addressee, char(0)) = 0),
    words text not null check (length(words) between 1 and 30000 and instr(words, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null
) strict;
create index letter_by_visit on letter (visit_id, at);
create trigger letter_never_changed before update on letter
when new.visit_id is old.visit_id
begin
    select raise(abort, 'letters_are_kept');
end;
create trigger letter_never_deleted before delete on letter
begin
    select raise(abort, 'letters_are_kept');
end;

-- The practice's own words of a kind of letter; empty where it went back to those that are proposed.
create table letter_wording (
    kind text primary key check (length(kind) between 1 and 40),
    words text not null check (length(words) <= 20000 and instr(words, char(0)) = 0),
    changed_by blob not null references staff (id),
    changed_at integer not null,
    version integer not null default 1
) strict;
