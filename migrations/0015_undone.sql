-- Orders about which something is open: not told, not read, an item that is not there, or a picture that came after the
-- report, so that nobody has said what it shows. What a person closed is done, whatever is missing.
create view diagnostic_undone as
select o.id from diagnostic_order o
where o.closed_at is null
  and (o.told_at is null or o.read_at is null
       or exists (select 1 from diagnostic_item i where i.order_id = o.id and i.state in ('wanted', 'repeat'))
       or exists (select 1 from dicom_object d
                  where d.order_id = o.id
                    and d.matched_at > (select max(e.received_at) from entry e
                                        where e.order_id = o.key and e.kind = 'report'
                                          and not exists (select 1 from entry l where l.supersedes = e.id))));
