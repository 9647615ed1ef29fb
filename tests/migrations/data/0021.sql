-- A visit of 0003 with an answer, and a wording that was approved and taken back.
insert into triage_answer (id, visit_id, code, answer, asked_by, asked_at)
values (x'00000000000000000000000000002101', x'00000000000000000000000000000021', 'RF1', 'yes', x'00000000000000000000000000000002', 1);
insert into advice_decision (id, code, wording, approved, decided_by, decided_at)
values (x'00000000000000000000000000002102', 'RF1', 'Keep it still.', 1, x'00000000000000000000000000000001', 1),
       (x'00000000000000000000000000002103', 'RF1', 'Keep it still.', 0, x'00000000000000000000000000000001', 2);
