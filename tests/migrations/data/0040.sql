-- A device that counts, one that is being set up, codes for the day it is lost, a password that waits for its code.
insert into second_factor (staff_id, secret, confirmed_at, last_step)
values (x'00000000000000000000000000000001', zeroblob(48), 1, 5);
insert into second_factor (staff_id, proposed, proposed_at, unseen)
values (x'00000000000000000000000000000002', zeroblob(48), 1, zeroblob(60));
insert into recovery_code (staff_id, hash, used_at)
values (x'00000000000000000000000000000001', zeroblob(32), null);
insert into half_sign_in (token_hash, staff_id, expires_at, shared, next)
values (zeroblob(32), x'00000000000000000000000000000001', 300000, 1, '/horses');
insert into second_factor_asked (staff_id, asked_at, until_at, put_off)
values (x'00000000000000000000000000000001', 1, 604800001, 1);
