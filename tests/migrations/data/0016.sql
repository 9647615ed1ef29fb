-- After the bone scan: a licence, an officer and a meter of a practice.
update radiation_licence set reference = 'licence 7', min_hours = 24, max_usv_h = 5, version = 2;
insert into radiation_officer (staff_id, added_by, added_at) select id, id, 1 from staff limit 1;
insert into survey_meter (id, name, serial, calibrated_on, calibration_due)
values (x'00000000000000000000000000001601', 'the one in the scan room', 'S1', '2026-01-01', '2026-12-31');
