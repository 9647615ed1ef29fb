-- A safe with a bottle in it.
insert into drug_store (id, name, kind, added_by, added_at)
select x'00000000000000000000000000003301', 'the safe', 'safe', id, 1 from staff limit 1;
insert into drug_line (id, store_id, medicine, mg_per_ml, what, ul, batch, by_id, at)
select x'00000000000000000000000000003302', x'00000000000000000000000000003301', 'butorphanol', 10, 'receipt', 10000, 'B1', id, 1
from staff limit 1;
