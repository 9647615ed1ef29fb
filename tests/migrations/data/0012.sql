-- After a practice's own weights.
insert into practice_weight (address, version, value, reason, changed_by, changed_at) values ('clock/PDN/late_min', 1, 12, 'our own cases', x'00000000000000000000000000000101', 1), ('clock/PDN/late_min', 2, null, 'back to the shipped value', x'00000000000000000000000000000101', 2);
