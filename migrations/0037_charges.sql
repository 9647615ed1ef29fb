-- The currency of the practice's prices, in three letters; it is kept once.
create table price_currency (
    id integer primary key check (id = 1),
    code text not null check (code glob '[A-Z][A-Z][A-Z]'),
    by_id blob not null references staff (id),
    at integer not null
) strict;
create trigger price_currency_never_changed before update on price_currency
begin
    select raise(abort, 'prices_are_kept');
end;
create trigger price_currency_never_deleted before delete on price_currency
begin
    select raise(abort, 'prices_are_kept');
end;

-- The practice's price list; none is there by itself. A price is ended from a day, never changed.
create table price (
    id blob primary key check (length(id) = 16),
    -- what the accounts call it
    code text not null check (length(code) between 1 and 40 and instr(code, char(0)) = 0),
    words text not null check (length(words) between 1 and 200 and instr(words, char(0)) = 0),
    -- a charge of catalogue/data/charges.toml, and which one of its kind; empty for any
    charge text not null check (length(charge) between 1 and 60),
    of_what text not null default '' check (length(of_what) <= 100 and instr(of_what, char(0)) = 0),
    -- of a call-out: kilometres one way, so many and fewer
    up_to_km integer check (up_to_km between 1 and 2000),
    unit text not null check (unit in ('each', 'ml', 'km', 'minutes')),
    -- hundredths of the currency, for one of the unit
    minor integer not null check (minor between 0 and 100000000),
    tax text not null default '' check (length(tax) <= 40 and instr(tax, char(0)) = 0),
    valid_from text not null check (length(valid_from) = 10),
    by_id blob not null references staff (id),
    at integer not null,
    -- the first day on which it does not hold any more
    ends_on text check (ends_on is null or (length(ends_on) = 10 and ends_on >= valid_from)),
    ended_by blob references staff (id),
    ended_at integer,
    check ((ends_on is null) = (ended_by is null) and (ends_on is null) = (ended_at is null))
) strict;
create trigger price_never_changed
before update of id, code, words, charge, of_what, up_to_km, unit, minor, tax, valid_from, by_id, at on price
begin
    select raise(abort, 'prices_are_kept');
end;
create trigger price_ends_once before update on price when old.ends_on is not null
begin
    select raise(abort, 'prices_are_kept');
end;
create trigger price_never_deleted before delete on price
begin
    select raise(abort, 'prices_are_kept');
end;

-- What a visit is charged, gone over by a person: lines that stay. A wrong one is reversed by another.
create table charge (
    id blob primary key check (length(id) = 16),
    visit_id blob not null references visit (id),
    -- what of the record it is from, as src/charges/facts.rs names it; own:<id> for a line of one's own
    source text not null check (length(source) between 1 and 100 and instr(source, char(0)) = 0),
    charge text not null check (length(charge) between 1 and 60),
    of_what text not null default '' check (length(of_what) <= 100),
    words text not null check (length(words) between 1 and 300 and instr(words, char(0)) = 0),
    unit text not null check (unit in ('each', 'ml', 'km', 'minutes')),
    -- thousandths: what the record held beyond what was gone over before, and what is charged
    recorded integer not null,
    quantity integer not null,
    -- the price as it was; all null where the line was left out
    price_id blob references price (id),
    code text,
    tax text,
    minor integer check (minor >= 0),
    amount integer,
    currency text,
    payer_id blob references client (id),
    left_out text not null default '' check (length(left_out) <= 300 and instr(left_out, char(0)) = 0),
    reverses blob unique references charge (id),
    reason text not null default '' check (length(reason) <= 300 and instr(reason, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    check ((price_id is null) = (length(left_out) > 0)),
    check ((price_id is null) = (code is null) and (price_id is null) = (tax is null)
        and (price_id is null) = (minor is null) and (price_id is null) = (amount is null)
        and (price_id is null) = (currency is null) and (price_id is null) = (payer_id is null)),
    check (case when reverses is null then recorded >= 0 and quantity >= 0
        else recorded <= 0 and quantity <= 0 and length(reason) > 0 end)
) strict;
create index charge_by_visit on charge (visit_id);
-- Two rows that are one client are put together: the payer is then the one that stays.
create trigger charge_never_changed
before update of id, visit_id, source, charge, of_what, words, unit, recorded, quantity, price_id, code, tax, minor, amount,
    currency, left_out, reverses, reason, by_id, at on charge
begin
    select raise(abort, 'charges_are_kept');
end;
create trigger charge_never_deleted before delete on charge
begin
    select raise(abort, 'charges_are_kept');
end;

-- What was handed over, numbered without gaps; the file is kept as it was, so that it is the same each time.
create table charge_batch (
    number integer primary key check (number > 0),
    csv text not null,
    by_id blob not null references staff (id),
    at integer not null
) strict;
create trigger charge_batch_without_gaps before insert on charge_batch
when new.number <> coalesce((select max(number) from charge_batch), 0) + 1
begin
    select raise(abort, 'batches_have_no_gaps');
end;
create trigger charge_batch_never_changed before update on charge_batch
begin
    select raise(abort, 'batches_are_kept');
end;
create trigger charge_batch_never_deleted before delete on charge_batch
begin
    select raise(abort, 'batches_are_kept');
end;

-- A line goes once. Its number runs on from batch to batch, so that a reversal can name it.
create table charge_handed (
    line integer primary key check (line > 0),
    charge_id blob not null unique references charge (id),
    batch integer not null references charge_batch (number)
) strict;
create index charge_handed_by_batch on charge_handed (batch);
create trigger charge_handed_never_changed before update on charge_handed
begin
    select raise(abort, 'batches_are_kept');
end;
create trigger charge_handed_never_deleted before delete on charge_handed
begin
    select raise(abort, 'batches_are_kept');
end;
