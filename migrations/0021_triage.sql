-- What a caller was asked and said. What was not asked has no row, and no answer is ever taken back: a later one stands
-- beside it.
create table triage_answer (
    id blob primary key check (length(id) = 16),
    visit_id blob not null references visit (id),
    -- a question of catalogue/data/triage.toml
    code text not null check (length(code) between 1 and 20),
    answer text not null check (answer in ('yes', 'no')),
    asked_by blob not null references staff (id),
    asked_at integer not null
) strict;
create index triage_answer_by_visit on triage_answer (visit_id);
create trigger triage_answer_never_changed before update on triage_answer
begin
    select raise(abort, 'answers_are_kept');
end;
create trigger triage_answer_never_deleted before delete on triage_answer
begin
    select raise(abort, 'answers_are_kept');
end;

-- Which wordings to callers an owner has approved, word for word, and which were taken back. The latest decision about
-- a row holds, and only as long as its wording is that one.
create table advice_decision (
    id blob primary key check (length(id) = 16),
    code text not null check (length(code) between 1 and 40),
    wording text not null check (length(wording) between 1 and 1000 and instr(wording, char(0)) = 0),
    approved integer not null check (approved in (0, 1)),
    decided_by blob not null references staff (id),
    decided_at integer not null
) strict;
create index advice_decision_by_code on advice_decision (code);
create trigger advice_decision_never_changed before update on advice_decision
begin
    select raise(abort, 'decisions_are_kept');
end;
create trigger advice_decision_never_deleted before delete on advice_decision
begin
    select raise(abort, 'decisions_are_kept');
end;
