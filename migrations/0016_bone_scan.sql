-- What the practice's licence for unsealed sources asks before a horse leaves. Nothing of it has a default: it is null
-- until the practice has entered it, and until then no horse is released.
create table radiation_licence (
    id integer primary key check (id = 1),
    reference text not null default '' check (length(reference) <= 200 and instr(reference, char(0)) = 0),
    min_hours real check (min_hours >= 0),
    -- at 1 m, microsieverts an hour
    max_usv_h real check (max_usv_h > 0),
    version integer not null default 1
) strict;
insert into radiation_licence (id) values (1);

-- Who signs that a horse may leave.
create table radiation_officer (
    staff_id blob primary key references staff (id),
    added_by blob not null references staff (id),
    added_at integer not null
) strict;

-- What dose rates are measured with. A reading keeps the calibration that its meter had on that day.
create table survey_meter (
    id blob primary key check (length(id) = 16),
    name text not null check (length(name) between 1 and 200 and instr(name, char(0)) = 0),
    serial text not null unique check (length(serial) between 1 and 100 and instr(serial, char(0)) = 0),
    calibrated_on text not null check (length(calibrated_on) = 10),
    calibration_due text not null check (length(calibration_due) = 10),
    in_use integer not null default 1 check (in_use in (0, 1)),
    version integer not null default 1,
    check (calibration_due >= calibrated_on)
) strict;
create trigger survey_meter_never_deleted before delete on survey_meter
begin
    select raise(abort, 'meters_are_kept');
end;

-- Orders whose horse was injected and is not released. Closing an order releases no horse.
create view horse_not_released as
select o.id from diagnostic_order o
where o.kind = 'bone_scan'
  and exists (select 1 from entry e
              where e.order_id = o.key and e.kind = 'scan' and e.code = 'injection'
                and not exists (select 1 from entry l where l.supersedes = e.id))
  and not exists (select 1 from entry e
                  where e.order_id = o.key and e.kind = 'scan' and e.code = 'release'
                    and not exists (select 1 from entry l where l.supersedes = e.id));

drop view diagnostic_undone;
create view diagnostic_undone as
select o.id from diagnostic_order o
where (o.closed_at is null
       and (o.told_at is null or o.read_at is null
            or exists (select 1 from diagnostic_item i where i.order_id = o.id and i.state in ('wanted', 'repeat'))
            or exists (select 1 from dicom_object d
                       where d.order_id = o.id
                         and d.matched_at > (select max(e.received_at) from entry e
                                             where e.order_id = o.key and e.kind = 'report'
                                               and not exists (select 1 from entry l where l.supersedes = e.id)))))
   or o.id in (select id from horse_not_released);
