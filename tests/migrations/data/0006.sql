-- 0006 adds indexes only: the rows of 0004 stand in them.
select 1;
