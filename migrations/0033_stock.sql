-- Where controlled drugs are kept.
create table drug_store (
    id blob primary key check (length(id) = 16),
    name text not null collate nocase unique check (length(name) between 1 and 100 and instr(name, char(0)) = 0),
    kind text not null check (kind in ('safe', 'vehicle')),
    added_by blob not null references staff (id),
    added_at integer not null
) strict;

-- The register: every movement, in microlitres, signed. The balance is their sum; nothing is changed or taken away, a
-- wrong line is reversed by another one.
create table drug_line (
    id blob primary key check (length(id) = 16),
    store_id blob not null references drug_store (id),
    medicine text not null check (length(medicine) between 1 and 200),
    mg_per_ml real not null check (mg_per_ml > 0),
    what text not null
        check (what in ('receipt', 'in', 'out', 'given', 'handed_over', 'waste', 'count', 'adjustment', 'reversal')),
    ul integer not null,
    -- of a count: what was there
    counted_ul integer check (counted_ul >= 0),
    batch text not null default '' check (instr(batch, char(0)) = 0),
    expires_on text,
    witness_id blob references staff (id),
    -- the entry of the record that drew on it
    entry_id blob,
    -- the other line of a transfer
    pair_id blob,
    reverses blob unique references drug_line (id),
    reason text not null default '' check (length(reason) <= 300 and instr(reason, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    check ((what = 'count') = (counted_ul is not null)),
    check (what <> 'count' or ul = 0),
    check (what not in ('receipt', 'in') or ul > 0),
    check (what not in ('out', 'given', 'handed_over', 'waste') or ul < 0),
    check ((what = 'reversal') = (reverses is not null)),
    check (what not in ('count', 'waste', 'adjustment') or (witness_id is not null and witness_id <> by_id)),
    check (what not in ('adjustment', 'reversal') or length(reason) > 0)
) strict;
create index drug_line_by_store on drug_line (store_id, medicine, mg_per_ml);
create index drug_line_by_entry on drug_line (entry_id);
create trigger drug_line_never_changed before update on drug_line
begin
    select raise(abort, 'lines_are_kept');
end;
create trigger drug_line_never_deleted before delete on drug_line
begin
    select raise(abort, 'lines_are_kept');
end;
