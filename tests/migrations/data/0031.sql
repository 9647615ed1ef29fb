-- A row that was retired, one that was confirmed, and where the practice is.
insert into formulary_change (id, code, row, reason, by_id, at)
select x'00000000000000000000000000003101', 'ketoprofen_iv', null, 'not used here', id, 1 from staff limit 1;
insert into formulary_confirmation (id, code, row, confirmed, read_in, by_id, at)
select x'00000000000000000000000000003102', 'flunixin_inj', '{}', 1, 'the data sheet', id, 1 from staff limit 1;
update prescribing set jurisdiction = 'UK', address = 'Mill Lane 1', phone = '0555 1', version = 2;
insert into prescriber (staff_id, qualification) select id, 'DVM' from staff limit 1;
