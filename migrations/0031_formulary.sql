-- What the practice made of the formulary's rows: a row of its own, a changed one, or none where it was retired. The
-- latest change of a code holds; nothing is taken away.
create table formulary_change (
    id blob primary key check (length(id) = 16),
    code text not null check (length(code) between 1 and 80),
    -- the whole row as JSON; null where it was retired
    row text check (row is null or json_valid(row)),
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null
) strict;
create index formulary_change_by_code on formulary_change (code);
create trigger formulary_change_never_changed before update on formulary_change
begin
    select raise(abort, 'changes_are_kept');
end;
create trigger formulary_change_never_deleted before delete on formulary_change
begin
    select raise(abort, 'changes_are_kept');
end;

-- Who confirmed a row, as it stood, from which text; and who took that back. The latest word about a row holds, and only as
-- long as the row is that one.
create table formulary_confirmation (
    id blob primary key check (length(id) = 16),
    code text not null check (length(code) between 1 and 80),
    row text not null check (json_valid(row)),
    confirmed integer not null check (confirmed in (0, 1)),
    read_in text not null check (length(read_in) <= 300 and instr(read_in, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    check (confirmed = 0 or length(read_in) > 0)
) strict;
create index formulary_confirmation_by_code on formulary_confirmation (code);
create trigger formulary_confirmation_never_changed before update on formulary_confirmation
begin
    select raise(abort, 'decisions_are_kept');
end;
create trigger formulary_confirmation_never_deleted before delete on formulary_confirmation
begin
    select raise(abort, 'decisions_are_kept');
end;

-- What stands on prescriptions and labels beside the medicine. No place is taken for granted.
create table prescribing (
    id integer primary key check (id = 1),
    jurisdiction text not null default '',
    address text not null default '' check (length(address) <= 500 and instr(address, char(0)) = 0),
    phone text not null default '' check (length(phone) <= 100 and instr(phone, char(0)) = 0),
    version integer not null default 1
) strict;
insert into prescribing (id) values (1);

-- What a veterinarian signs prescriptions with.
create table prescriber (
    staff_id blob primary key references staff (id),
    qualification text not null check (length(qualification) between 1 and 200 and instr(qualification, char(0)) = 0)
) strict;
