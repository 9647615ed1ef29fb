-- After laboratories and the plans of samples.
insert into laboratory (id, name, arrive_days, steps, ck_low, ck_high, range_source, created_by, created_at)
select x'00000000000000000000000000001701', 'Harbour Lab', 'mon tue', 'ask first', 100, 300, 'its list', ordered_by, 1
from diagnostic_order limit 1;
insert into sample_plan (order_id, suspicion, protocol, laboratory_id)
select id, 'emnd', 'formalin', x'00000000000000000000000000001701' from diagnostic_order limit 1;
