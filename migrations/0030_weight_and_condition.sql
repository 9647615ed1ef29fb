-- A weight may be reckoned by a formula; then it keeps the formula's code and what was measured, as JSON in cm.
create table horse_weight_next (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    kg real not null check (kg between 1 and 2000),
    method text not null check (method in ('scale', 'formula', 'tape', 'estimate')),
    weighed_on text not null,
    entered_by blob not null references staff (id),
    created_at integer not null,
    formula text,
    measures text check (measures is null or json_valid(measures)),
    check ((method = 'formula') = (formula is not null)),
    check ((formula is null) = (measures is null))
) strict;
insert into horse_weight_next (id, horse_id, kg, method, weighed_on, entered_by, created_at)
select id, horse_id, kg, method, weighed_on, entered_by, created_at from horse_weight;
drop table horse_weight;
alter table horse_weight_next rename to horse_weight;
create index horse_weight_by_horse on horse_weight (horse_id, weighed_on);

-- The weight that a horse is reckoned with: of the 90 days up to its newest weight the best method, then the newest. The
-- same rule as reasoning::weight::used; catalogue/data/weight.toml has the 90 days and the order of the methods.
create view horse_weight_used as
select horse_id, kg, method, weighed_on from (
    select w.horse_id, w.kg, w.method, w.weighed_on,
           row_number() over (
               partition by w.horse_id
               order by case w.method when 'scale' then 1 when 'formula' then 2 when 'tape' then 3 else 4 end,
                        w.weighed_on desc, w.created_at desc) as nth
    from horse_weight w
    where w.weighed_on >= (select date(max(n.weighed_on), '-90 days') from horse_weight n where n.horse_id = w.horse_id))
where nth = 1;

-- How fat a horse is, by the hands: its body and the crest of its neck. A score that was taken at a visit carries the id
-- of its entry and follows it.
create table horse_condition (
    id blob primary key check (length(id) = 16),
    horse_id blob not null references horse (id),
    code text not null check (code in ('bcs', 'crest')),
    score real not null check (score between 0 and 9),
    -- one look at the whole horse, or the mean of its sites
    how text not null check (how in ('whole', 'sites')),
    scored_on text not null,
    entered_by blob not null references staff (id),
    created_at integer not null
) strict;
create index horse_condition_by_horse on horse_condition (horse_id, scored_on);
insert into horse_condition (id, horse_id, code, score, how, scored_on, entered_by, created_at)
select e.id, v.horse_id, e.code, e.body ->> 'number', 'whole', date(e.seen_at / 1000, 'unixepoch'), e.seen_by, e.received_at
from entry e join visit v on v.id = e.visit_id
where e.kind = 'vital' and e.code in ('bcs', 'crest') and e.body ->> 'number' is not null and e.late = 0
  and not exists (select 1 from entry s where s.supersedes = e.id and s.late = 0);
