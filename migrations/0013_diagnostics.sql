-- What was ordered, for which visit: radiographs, ultrasound, a bone scan, samples. An order is done when each of its
-- items was taken or left out with a reason, its report was read, and the client was told.
create table diagnostic_order (
    id blob primary key check (length(id) = 16),
    -- the id as entries of the record write it
    key text generated always as (lower(substr(hex(id), 1, 8) || '-' || substr(hex(id), 9, 4) || '-'
        || substr(hex(id), 13, 4) || '-' || substr(hex(id), 17, 4) || '-' || substr(hex(id), 21))) virtual,
    -- the running number, and what it is called by on equipment and at laboratories
    number integer not null unique check (number > 0),
    accession text not null unique check (length(accession) between 1 and 16),
    study_uid text not null unique check (length(study_uid) between 1 and 64),
    visit_id blob not null references visit (id),
    -- the study's code in the catalogue, and how it was called on that day
    study text not null check (length(study) > 0),
    kind text not null
        check (kind in ('radiograph', 'ultrasound', 'bone_scan', 'biopsy', 'blood', 'synovial', 'other')),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    -- the place of the examination that it was ordered from: FETL_D.L
    place text not null default '',
    weight_bearing text not null default '' check (weight_bearing in ('', 'loaded', 'lifted')),
    shoes text not null default '' check (shoes in ('', 'on', 'off')),
    question text not null default '' check (instr(question, char(0)) = 0),
    -- null while nobody has said when
    planned_on text check (length(planned_on) = 10),
    ordered_by blob not null references staff (id),
    ordered_at integer not null,
    read_by blob references staff (id),
    read_at integer,
    -- whom of the client's, and how; or why nobody has to be told
    told text not null default '' check (instr(told, char(0)) = 0),
    told_by blob references staff (id),
    told_at integer,
    closed_reason text not null default '' check (instr(closed_reason, char(0)) = 0),
    closed_by blob references staff (id),
    closed_at integer,
    version integer not null default 1,
    check ((read_at is null) = (read_by is null)),
    check ((told_at is null) = (told_by is null)),
    check ((told_at is null) = (length(told) = 0)),
    check ((closed_at is null) = (closed_by is null)),
    check ((closed_at is null) = (length(closed_reason) = 0))
) strict;
create index diagnostic_order_by_visit on diagnostic_order (visit_id);
create index diagnostic_order_undone on diagnostic_order (kind, planned_on) where told_at is null and closed_at is null;
create trigger diagnostic_order_never_deleted before delete on diagnostic_order
begin
    select raise(abort, 'orders_are_kept');
end;

-- One projection, structure, sample or site of an order.
create table diagnostic_item (
    id blob primary key check (length(id) = 16),
    order_id blob not null references diagnostic_order (id),
    position integer not null,
    -- a projection as D60Pr-PaDiO, or the code of the catalogue's item
    code text not null check (length(code) between 1 and 60 and instr(code, char(0)) = 0),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    -- LF, RF, LH, RH; L or R of the trunk; empty where neither is meant
    side text not null default '' check (side in ('', 'LF', 'RF', 'LH', 'RH', 'L', 'R')),
    -- the zones of a tendon that are scanned: 1A 1B 2A
    zones text not null default '' check (instr(zones, char(0)) = 0),
    state text not null default 'wanted' check (state in ('wanted', 'taken', 'repeat', 'left_out')),
    reason text not null default '' check (instr(reason, char(0)) = 0),
    changed_by blob references staff (id),
    changed_at integer,
    version integer not null default 1,
    unique (order_id, code, side),
    check ((state = 'wanted') or changed_at is not null),
    check (state not in ('repeat', 'left_out') or length(reason) > 0)
) strict;
create index diagnostic_item_by_order on diagnostic_item (order_id, position);
create trigger diagnostic_item_never_deleted before delete on diagnostic_item
begin
    select raise(abort, 'orders_are_kept');
end;

-- Who did what to an order, and why.
create table diagnostic_step (
    id blob primary key check (length(id) = 16),
    order_id blob not null references diagnostic_order (id),
    at integer not null,
    by_id blob not null references staff (id),
    what text not null check (length(what) > 0 and instr(what, char(0)) = 0),
    reason text not null default '' check (instr(reason, char(0)) = 0)
) strict;
create index diagnostic_step_by_order on diagnostic_step (order_id, at);
create trigger diagnostic_step_never_changed before update on diagnostic_step
begin
    select raise(abort, 'steps_are_kept');
end;
create trigger diagnostic_step_never_deleted before delete on diagnostic_step
begin
    select raise(abort, 'steps_are_kept');
end;

-- A result is an entry of the record that names its order. It comes when it comes: what belongs to an order is no part
-- of what the visit's signature closed.
alter table entry add column order_id text generated always as (body ->> 'order') virtual;
create index entry_by_order on entry (order_id) where order_id is not null;
drop trigger entry_after_signing_is_late;
create trigger entry_after_signing_is_late before insert on entry
when (select state from visit where id = new.visit_id) = 'signed' and new.late = 0 and new.body ->> 'order' is null
    and coalesce(new.body ->> 'kind', '') not in ('addendum', 'adoption', 'moved')
begin
    select raise(abort, 'visit_is_signed');
end;
create trigger entry_names_an_order before insert on entry
when new.body ->> 'order' is not null and not exists (
    select 1 from diagnostic_order o
    where o.visit_id = new.visit_id and o.key = new.body ->> 'order')
begin
    select raise(abort, 'order_of_another_visit');
end;

-- Files may be of any kind that the program takes in; which those are stands with the code that looks into them.
create table attachment_of_any_kind (
    sha256 text primary key check (length(sha256) = 64),
    kind text not null check (instr(kind, '/') > 1 and instr(kind, char(0)) = 0),
    bytes integer not null check (bytes > 0),
    created_at integer not null
) strict;
insert into attachment_of_any_kind select sha256, kind, bytes, created_at from attachment;
drop table attachment;
alter table attachment_of_any_kind rename to attachment;
create trigger attachment_never_changed before update on attachment
begin
    select raise(abort, 'attachments_are_kept');
end;
