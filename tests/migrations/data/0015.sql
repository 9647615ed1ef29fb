-- After the view of undone orders: the order of 0013 is one of them.
update diagnostic_order set question = 'is it seen?' where id in (select id from diagnostic_undone);
