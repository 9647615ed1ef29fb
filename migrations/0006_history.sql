-- Before a recheck the whole past of one horse is read: by kind and place, without reading what lies between.
create index entry_by_kind on entry (visit_id, kind, region, side, limb, present, late, id);
create index entry_correction on entry (visit_id) where supersedes is not null;
create index entry_late on entry (visit_id) where late = 1;
