-- After a practice's own words.
insert into practice_word (id, says, means, added_by, added_at) values (x'00000000000000000000000000000111', 'squidge', 'effusion', x'00000000000000000000000000000101', 1);
