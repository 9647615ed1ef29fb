-- After ticks of what was made ready.
insert into diagnostic_ready (order_id, code, by_id, at) select id, 'coat_clean', ordered_by, 1 from diagnostic_order limit 1;
