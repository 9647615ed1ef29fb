-- A decision about what came in that a person took back: the picture waits again. What was decided, by whom and when stands
-- here, since the picture's own row is free for the next decision.
create table dicom_taken_back (
    id blob primary key check (length(id) = 16),
    object_id blob not null references dicom_object (id),
    -- the order that it was with and the item that it was the picture of; none where it was set aside
    order_id blob references diagnostic_order (id),
    item_id blob references diagnostic_item (id),
    matched_how text check (matched_how in ('study_uid', 'accession', 'patient', 'person')),
    set_aside_reason text not null default '' check (instr(set_aside_reason, char(0)) = 0),
    -- null when the program matched it
    decided_by blob references staff (id),
    decided_at integer not null,
    reason text not null check (length(reason) > 0 and instr(reason, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    check ((order_id is null) = (length(set_aside_reason) > 0)),
    check ((order_id is null) = (matched_how is null)),
    check (item_id is null or order_id is not null)
) strict;
create index dicom_taken_back_by_object on dicom_taken_back (object_id, at);
create trigger dicom_taken_back_never_changed before update on dicom_taken_back
begin
    select raise(abort, 'decisions_are_kept');
end;
create trigger dicom_taken_back_never_deleted before delete on dicom_taken_back
begin
    select raise(abort, 'decisions_are_kept');
end;
