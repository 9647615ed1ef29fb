-- What an account is asked for beside its password: codes of a device, or recovery codes. Secrets are sealed with a key
-- that lies beside the database.
create table second_factor (
    staff_id blob primary key references staff (id),
    -- of the device that counts
    secret blob check (secret is null or length(secret) = 48),
    confirmed_at integer,
    -- the newest step of 30 seconds whose code was used: no code of it or of an earlier one is good any more
    last_step integer not null default 0,
    -- of a device that has not shown a code yet
    proposed blob check (proposed is null or length(proposed) = 48),
    proposed_at integer,
    -- recovery codes until they were shown
    unseen blob,
    check ((secret is null) = (confirmed_at is null)),
    check ((proposed is null) = (proposed_at is null)),
    check (secret is not null or proposed is not null)
) strict;

-- Digests of codes for whoever has lost the device, good once each.
create table recovery_code (
    staff_id blob not null references staff (id),
    hash blob not null check (length(hash) = 32),
    used_at integer,
    primary key (staff_id, hash)
) strict;

-- A right password that waits for its code; it opens nothing.
create table half_sign_in (
    token_hash blob primary key check (length(token_hash) = 32),
    staff_id blob not null references staff (id),
    expires_at integer not null,
    shared integer not null default 0 check (shared in (0, 1)),
    -- the page to go on to
    next text not null default '' check (length(next) <= 2000)
) strict;

-- An owner who was asked to set up a second factor, and until when that can be put off.
create table second_factor_asked (
    staff_id blob primary key references staff (id),
    asked_at integer not null,
    until_at integer not null,
    put_off integer not null default 0 check (put_off in (0, 1))
) strict;
