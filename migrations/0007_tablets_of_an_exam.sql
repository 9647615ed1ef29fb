-- The tablets that opened an exam, each under the account that holds it there, and how many entries it said were
-- waiting on it: who signs is told which are not known to be empty.
create table exam_tablet (
    visit_id blob not null references visit (id),
    device_id blob not null check (length(device_id) = 16),
    staff_id blob not null references staff (id),
    opened_at integer not null,
    -- the exam is open there, so more may come
    open integer not null check (open in (0, 1)),
    unsent integer not null check (unsent between 0 and 100000),
    reported_at integer not null,
    primary key (visit_id, device_id, staff_id)
) strict;
