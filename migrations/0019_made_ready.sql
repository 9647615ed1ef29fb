-- What was made ready for an order, by the codes of the catalogue's list: who ticked it, and when. A tick that is taken back
-- takes its row away; both stand in the order's steps.
create table diagnostic_ready (
    order_id blob not null references diagnostic_order (id),
    code text not null check (length(code) between 1 and 60 and instr(code, char(0)) = 0),
    by_id blob not null references staff (id),
    at integer not null,
    primary key (order_id, code)
) strict;
