insert into audit (id, at, by_id, what) values (x'00000000000000000000000000002401', 1, x'00000000000000000000000000000001', 'import');
insert into import (id, name, header, columns, row_count, staged_by, staged_at)
values (x'00000000000000000000000000002402', 'clients.csv', '["Name"]', '["client_name"]', 1, x'00000000000000000000000000000001', 1);
insert into import_row (import_id, number, line, cells) values (x'00000000000000000000000000002402', 1, 2, '["C"]');
insert into import_made (import_id, kind, id) values (x'00000000000000000000000000002402', 'client', x'00000000000000000000000000000011');
