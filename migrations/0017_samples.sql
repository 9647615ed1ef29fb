-- Laboratories that samples are sent to, as the practice entered them; none is there by itself.
create table laboratory (
    id blob primary key check (length(id) = 16),
    name text not null collate nocase unique check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    address text not null default '' check (instr(address, char(0)) = 0),
    phone text not null default '' check (instr(phone, char(0)) = 0),
    email text not null default '' check (instr(email, char(0)) = 0),
    -- how its results come: by which mail, to whom
    result_route text not null default '' check (instr(result_route, char(0)) = 0),
    -- days on which samples may arrive, spaces between: mon tue; empty while nobody said
    arrive_days text not null default '' check (instr(arrive_days, char(0)) = 0),
    -- how it wants its samples, a step a line
    steps text not null default '' check (instr(steps, char(0)) = 0),
    -- its reference ranges, in range_unit
    ck_low real check (ck_low >= 0),
    ck_high real check (ck_high >= 0),
    ast_low real check (ast_low >= 0),
    ast_high real check (ast_high >= 0),
    range_unit text not null default 'U/L' check (range_unit in ('U/L', 'µkat/L')),
    range_source text not null default '' check (instr(range_source, char(0)) = 0),
    in_use integer not null default 1 check (in_use in (0, 1)),
    created_by blob not null references staff (id),
    created_at integer not null,
    version integer not null default 1,
    check (ck_low is null or ck_high is null or ck_low <= ck_high),
    check (ast_low is null or ast_high is null or ast_low <= ast_high)
) strict;
create trigger laboratory_never_deleted before delete on laboratory
begin
    select raise(abort, 'laboratories_are_kept');
end;

-- What an order of samples is for and how its samples are handled: the suspicion and the protocol by their codes in the
-- catalogue, empty while nobody said.
create table sample_plan (
    order_id blob primary key references diagnostic_order (id),
    suspicion text not null default '' check (instr(suspicion, char(0)) = 0),
    protocol text not null default '' check (instr(protocol, char(0)) = 0),
    laboratory_id blob references laboratory (id),
    version integer not null default 1
) strict;
