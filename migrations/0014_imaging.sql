-- How the practice's own equipment reaches us: where we listen for DICOM, under which title, and within which bounds.
create table dicom_settings (
    id integer primary key check (id = 1),
    enabled integer not null default 0 check (enabled in (0, 1)),
    address text not null check (length(address) between 1 and 60 and instr(address, char(0)) = 0),
    -- an AE title: 16 characters at most, none of them a backslash (PS3.5 6.2)
    ae_title text not null check (length(trim(ae_title)) between 1 and 16 and instr(ae_title, '\') = 0),
    -- the largest object that is taken in
    largest_bytes integer not null check (largest_bytes between 1048576 and 4294967296),
    -- how long equipment may say nothing, and how long it may stay
    idle_seconds integer not null check (idle_seconds between 1 and 600),
    total_minutes integer not null check (total_minutes between 1 and 1440),
    version integer not null default 1
) strict;
insert into dicom_settings (id, address, ae_title, largest_bytes, idle_seconds, total_minutes)
values (1, '127.0.0.1:11112', 'LIMBLEDGER', 536870912, 60, 60);

-- The equipment that may call from beyond this machine.
create table dicom_caller (
    ae_title text primary key check (length(trim(ae_title)) between 1 and 16 and instr(ae_title, '\') = 0),
    note text not null default '' check (instr(note, char(0)) = 0),
    added_by blob not null references staff (id),
    added_at integer not null
) strict;

-- One object that came in, as it was sent. The same object sent again is the same row; another object under the same
-- instance UID is a row of its own, and a person says what to think of it.
create table dicom_object (
    id blob primary key check (length(id) = 16),
    sop_instance_uid text not null check (length(sop_instance_uid) between 1 and 64),
    sha256 text not null references attachment (sha256),
    transfer_syntax text not null,
    sop_class text not null,
    study_uid text not null default '',
    series_uid text not null default '',
    modality text not null default '',
    accession text not null default '',
    patient_id text not null default '',
    patient_name text not null default '',
    body_part text not null default '',
    view_position text not null default '',
    view_name text not null default '',
    laterality text not null default '',
    series_number integer,
    instance_number integer,
    frames integer,
    pixel_rows integer,
    pixel_columns integer,
    -- date and time as the equipment wrote them: 20260311 091502
    acquired text not null default '',
    received_at integer not null,
    -- who sent it: an AE title, or the name of a file
    calling_ae text not null default '',
    source text not null check (source in ('network', 'upload', 'folder')),
    -- the order it belongs to, and the item when it is plainly the picture of one
    order_id blob references diagnostic_order (id),
    item_id blob references diagnostic_item (id),
    -- null when the program matched it
    matched_by blob references staff (id),
    matched_how text check (matched_how in ('study_uid', 'accession', 'patient', 'person')),
    matched_at integer,
    set_aside_reason text not null default '' check (instr(set_aside_reason, char(0)) = 0),
    set_aside_by blob references staff (id),
    set_aside_at integer,
    version integer not null default 1,
    unique (sop_instance_uid, sha256),
    check (item_id is null or order_id is not null),
    check ((order_id is null) = (matched_how is null)),
    check ((order_id is null) = (matched_at is null)),
    check (coalesce(matched_how, '') <> 'person' or matched_by is not null),
    check ((set_aside_at is null) = (length(set_aside_reason) = 0)),
    check ((set_aside_at is null) = (set_aside_by is null)),
    check (set_aside_at is null or order_id is null)
) strict;
create index dicom_object_waiting on dicom_object (received_at) where order_id is null and set_aside_at is null;
create index dicom_object_by_order on dicom_object (order_id, item_id) where order_id is not null;
create trigger dicom_object_never_deleted before delete on dicom_object
begin
    select raise(abort, 'objects_are_kept');
end;
create trigger dicom_object_stays_as_it_came before update of id, sop_instance_uid, sha256, transfer_syntax, sop_class,
    study_uid, series_uid, modality, accession, patient_id, patient_name, body_part, view_position, view_name,
    laterality, series_number, instance_number, frames, pixel_rows, pixel_columns, acquired, received_at, calling_ae,
    source on dicom_object
begin
    select raise(abort, 'objects_are_kept');
end;
create trigger dicom_object_item_is_of_its_order before update of order_id, item_id on dicom_object
when new.item_id is not null
    and not exists (select 1 from diagnostic_item i where i.id = new.item_id and i.order_id = new.order_id)
begin
    select raise(abort, 'item_of_another_order');
end;
