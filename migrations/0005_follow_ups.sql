create table follow_up (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    visit_id blob references visit (id),
    due_on text not null check (length(due_on) = 10),
    what text not null check (length(what) between 1 and 500 and instr(what, char(0)) = 0),
    state text not null default 'open' check (state in ('open', 'booked', 'done', 'dropped')),
    -- the visit that was booked for it
    booked_visit_id blob references visit (id),
    reason text not null default '' check (instr(reason, char(0)) = 0),
    created_by blob not null references staff (id),
    created_at integer not null,
    closed_by blob references staff (id),
    closed_at integer,
    version integer not null default 1,
    check (state <> 'dropped' or length(reason) > 0),
    check ((state in ('done', 'dropped')) = (closed_at is not null))
) strict;
create index follow_up_due on follow_up (due_on) where state in ('open', 'booked');
create index follow_up_by_horse on follow_up (horse_id);
