-- A code from the shell in place of a password: while this is set, password_hash is that of a code, good for one
-- sign-in until then (0: it has been used), and behind the door nothing but a password can be chosen.
alter table staff add column code_until integer;
