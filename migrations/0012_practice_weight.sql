-- The practice's own values in place of numbers that the reasoning ships with. It only grows: of each number the row with
-- the highest version holds, the others are how it came there.
create table practice_weight (
    -- list, row and field of the number, as the catalogue calls them
    address text not null check (length(address) between 5 and 120),
    version integer not null check (version >= 1),
    -- none: back to the shipped value
    value real,
    reason text not null check (length(reason) between 1 and 500 and instr(reason, char(0)) = 0),
    changed_by blob not null references staff (id),
    changed_at integer not null,
    primary key (address, version)
) strict, without rowid;

create trigger practice_weight_never_changed before update on practice_weight
begin
    select raise(abort, 'weights_are_kept');
end;
create trigger practice_weight_never_deleted before delete on practice_weight
begin
    select raise(abort, 'weights_are_kept');
end;
