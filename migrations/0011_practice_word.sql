-- What the people of this practice say for a thing that the line reader knows by another word.
create table practice_word (
    id blob primary key check (length(id) = 16),
    -- compared without case; the program sees to spaces
    says text not null collate nocase unique check (length(says) between 2 and 60),
    -- a word of the vocabulary
    means text not null check (length(means) between 1 and 60),
    added_by blob not null references staff (id),
    added_at integer not null
) strict;
