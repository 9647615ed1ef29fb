-- A letter that was kept, and words of the practice's own.
insert into letter (id, visit_id, kind, name, addressee, words, by_id, at)
select x'00000000000000000000000000003801', v.id, 'referral', 'Referral letter', 'A', '# Referral', s.id, 1
from (select id from visit limit 1) v, (select id from staff limit 1) s;
insert into letter_wording (kind, words, changed_by, changed_at)
select 'consent', '# {horse}', s.id, 1 from (select id from staff limit 1) s;
