-- Who had an entry's words erased, when, why, and under which law. The chain still verifies without them.
create table erasure (
    entry_id blob primary key check (length(entry_id) = 16),
    at integer not null,
    by_id blob not null references staff (id),
    law text not null check (length(law) > 0),
    reason text not null check (length(reason) > 0)
) strict;

-- The medical record. It only grows: a correction is a new entry that supersedes, and nothing is taken away
-- but the words of an entry whose erasure the law demands.
create table entry (
    seq integer primary key,
    id blob not null unique check (length(id) = 16),
    visit_id blob not null references visit (id),
    -- the canonical JSON of what was seen; the generated columns below are read out of it
    body text,
    salt blob,
    digest blob not null check (length(digest) = 32),
    supersedes blob unique references entry (id),
    seen_by blob not null references staff (id),
    entered_by blob not null references staff (id),
    device text not null default '',
    -- UTC milliseconds: when it was seen by the tablet's clock, when it was received by ours, and how far the
    -- tablet's clock stood ahead
    seen_at integer not null,
    received_at integer not null,
    offset_ms integer not null default 0,
    late integer not null default 0 check (late in (0, 1)),
    prev blob not null check (length(prev) = 32),
    chain blob not null check (length(chain) = 32),
    kind text generated always as (body ->> 'kind') stored,
    region text generated always as (body ->> 'region') stored,
    side text generated always as (body ->> 'side') stored,
    limb text generated always as (body ->> 'limb') stored,
    code text generated always as (body ->> 'code') stored,
    present integer generated always as (body ->> 'present') stored,
    grade real generated always as (cast(body ->> 'grade' as real)) stored,
    check ((body is null) = (salt is null)),
    check (body is null or instr(body, char(0)) = 0)
) strict;
create index entry_by_visit on entry (visit_id, seq);

create trigger entry_follows_the_chain before insert on entry
when new.seq <> coalesce((select max(seq) from entry), 0) + 1
    or new.prev <> coalesce((select chain from entry order by seq desc limit 1), zeroblob(32))
begin
    select raise(abort, 'entry_breaks_the_chain');
end;
create trigger entry_after_signing_is_late before insert on entry
when (select state from visit where id = new.visit_id) = 'signed' and new.late = 0
    and coalesce(new.body ->> 'kind', '') not in ('addendum', 'adoption', 'moved')
begin
    select raise(abort, 'visit_is_signed');
end;
create trigger entry_never_deleted before delete on entry
begin
    select raise(abort, 'entries_are_kept');
end;
create trigger entry_never_changed before update on entry
when not (new.body is null and new.salt is null and old.body is not null
    and exists (select 1 from erasure where entry_id = old.id)
    and new.seq = old.seq and new.id = old.id and new.visit_id = old.visit_id and new.digest = old.digest
    and new.supersedes is old.supersedes and new.seen_by = old.seen_by and new.entered_by = old.entered_by
    and new.device = old.device and new.seen_at = old.seen_at and new.received_at = old.received_at
    and new.offset_ms = old.offset_ms and new.late = old.late and new.prev = old.prev and new.chain = old.chain)
begin
    select raise(abort, 'entries_are_kept');
end;
