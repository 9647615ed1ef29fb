insert into summed (name) values ('horse');
insert into row_sum (of, row, sum) values (1, 1, zeroblob(16));
insert into audit_link (seq, audit_id, chain) select 1, id, zeroblob(32) from audit limit 1;
update backup_plan set folder = '/media/copies', version = 2;
