-- A price that ended and the one after it; a line that was handed over and reversed, and one that was left out.
insert into price_currency (id, code, by_id, at) select 1, 'EUR', id, 1 from staff limit 1;
insert into price (id, code, words, charge, unit, minor, tax, valid_from, by_id, at, ends_on, ended_by, ended_at)
select x'00000000000000000000000000003701', 'V1', 'Visit', 'visit', 'each', 6000, 'standard', '2026-01-01', id, 1,
       '2026-03-01', id, 2 from staff limit 1;
insert into price (id, code, words, charge, unit, minor, tax, valid_from, by_id, at)
select x'00000000000000000000000000003702', 'V1', 'Visit', 'visit', 'each', 6500, 'standard', '2026-03-01', id, 2
from staff limit 1;
insert into charge (id, visit_id, source, charge, words, unit, recorded, quantity, price_id, code, tax, minor, amount,
                    currency, payer_id, by_id, at)
select x'00000000000000000000000000003703', v.id, 'visit', 'visit', 'Visit', 'each', 1000, 1000,
       x'00000000000000000000000000003702', 'V1', 'standard', 6500, 6500, 'EUR', c.id, s.id, 3
from (select id from visit limit 1) v, (select id from client limit 1) c, (select id from staff limit 1) s;
insert into charge (id, visit_id, source, charge, words, unit, recorded, quantity, price_id, code, tax, minor, amount,
                    currency, payer_id, reverses, reason, by_id, at)
select x'00000000000000000000000000003704', visit_id, source, charge, words, unit, -recorded, -quantity, price_id, code, tax,
       minor, -amount, currency, payer_id, id, 'another owner', by_id, 4 from charge;
insert into charge (id, visit_id, source, charge, words, unit, recorded, quantity, left_out, by_id, at)
select x'00000000000000000000000000003705', v.id, 'flexion', 'flexion', 'Flexion', 'each', 1000, 1000, 'part of the visit',
       s.id, 3 from (select id from visit limit 1) v, (select id from staff limit 1) s;
insert into charge_batch (number, csv, by_id, at) select 1, 'batch,line', id, 5 from staff limit 1;
insert into charge_handed (line, charge_id, batch) values (1, x'00000000000000000000000000003703', 1);
