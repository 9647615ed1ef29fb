-- A yard or a horse that others have to be kept safe from. A mark is lifted, never changed or deleted.
create table biosecurity_mark (
    id blob primary key check (length(id) = 16),
    yard_id blob references yard (id),
    horse_id blob references horse (id),
    kind text not null check (kind in ('infectious', 'suspected', 'isolated')),
    -- a disease of catalogue/data/biosecurity.toml; empty where nobody knows
    disease text not null default '' check (instr(disease, char(0)) = 0),
    from_on text not null check (length(from_on) = 10),
    -- the last day; none: until it is lifted
    until_on text check (length(until_on) = 10 and until_on >= from_on),
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    lifted_by blob references staff (id),
    lifted_at integer,
    lifted_reason text not null default '' check (length(lifted_reason) <= 500 and instr(lifted_reason, char(0)) = 0),
    check ((yard_id is null) <> (horse_id is null)),
    check ((lifted_by is null) = (lifted_at is null)),
    check ((lifted_at is null) = (lifted_reason = ''))
) strict;
create index biosecurity_mark_by_yard on biosecurity_mark (yard_id) where yard_id is not null;
create index biosecurity_mark_by_horse on biosecurity_mark (horse_id) where horse_id is not null;
create trigger biosecurity_mark_never_deleted before delete on biosecurity_mark
begin
    select raise(abort, 'marks_are_kept');
end;
-- The horse may turn out to be another row of the same one; lifting is once and for good.
create trigger biosecurity_mark_stays
    before update of id, yard_id, kind, disease, from_on, until_on, reason, by_id, at on biosecurity_mark
begin
    select raise(abort, 'marks_are_kept');
end;
create trigger biosecurity_mark_lifted_once before update of lifted_by, lifted_at, lifted_reason on biosecurity_mark
when old.lifted_at is not null
begin
    select raise(abort, 'marks_are_kept');
end;

-- Whom the practice reports to, as it has entered them.
create table authority (
    id integer primary key check (id = 1),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    phone text not null check (length(phone) between 1 and 60 and instr(phone, char(0)) = 0),
    version integer not null default 1
) strict;
