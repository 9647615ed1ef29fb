//! Tables of other programs as they really come, and who their rows may be.

use proptest::prelude::*;

use limbledger::{
    clients, horses,
    ids::{ClientId, HorseId},
    imports::{
        alike::{Index, KnownClient, KnownHorse},
        columns,
        draft::Draft,
        read::{LARGEST, MOST_ROWS, Refused, Table, table},
    },
};

fn read(text: &str) -> Table {
    table(text.as_bytes()).unwrap()
}

fn cells(table: &Table) -> Vec<Vec<&str>> {
    table.rows.iter().map(|row| row.cells.iter().map(String::as_str).collect()).collect()
}

#[test]
fn a_table_is_the_same_whatever_its_letters_and_delimiters() {
    let plain = "Name,Town\nJörg Åberg,\"Upper, Vale\"\n";
    let utf16: Vec<u8> =
        std::iter::once(0xfeff).chain(plain.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let latin1: Vec<u8> = plain.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect();
    let kinds: [(&str, Vec<u8>); 6] = [
        ("UTF-8", plain.into()),
        ("with a byte order mark", format!("\u{feff}{plain}").into()),
        ("UTF-16", utf16),
        ("latin-1", latin1),
        ("semicolons", "Name;Town\r\nJörg Åberg;Upper, Vale\r\n".into()),
        ("tabs", "Name\tTown\nJörg Åberg\tUpper, Vale".into()),
    ];
    for (kind, bytes) in kinds {
        let table = table(&bytes).unwrap();
        assert_eq!(table.header, ["Name", "Town"], "{kind}");
        assert_eq!(cells(&table), [["Jörg Åberg", "Upper, Vale"]], "{kind}");
        assert_eq!(table.rows[0].torn, "", "{kind}");
    }
}

#[test]
fn what_is_torn_is_told_by_row_and_column() {
    let table = read("Name,Phone,Town\nA,1\nB,2,C,D\n\n,,\nE,3\u{0}4,F\n\"G\nH\",5,I\n");
    let told: Vec<(u64, &str)> = table.rows.iter().map(|row| (row.line, row.torn.as_str())).collect();
    assert_eq!(
        told,
        [
            (2, "1 cell is missing: the row ends before column 3 (Town)."),
            (3, "Column 4 has no heading: a cell too many."),
            (6, "Column 2 (Phone): it holds a character that cannot be printed."),
            (7, ""),
        ]
    );
    assert_eq!(table.rows[2].cells[1], "34", "what can be printed is shown");
    assert_eq!(table.rows[3].cells[0], "G\nH");
    let open = read(&format!("Name,Town\nA,B\n\"C,{}", "D,E\n".repeat(2000)));
    assert_eq!(open.rows[1].torn, "Column 1 (Name): a quotation mark is opened here and not closed.");
}

#[test]
fn what_is_no_table_says_why() {
    let wide = "a,".repeat(300);
    let long = format!("Name\n{}", "A\n".repeat(MOST_ROWS + 1));
    let cases: [(&[u8], &str); 7] = [
        (b"", "The file is empty."),
        (b" \n\n", "The file is empty."),
        (b"Name,Town\n", "Row 1 has the headings, and there is no row under it."),
        (
            b"PK\x03\x04rest",
            "This is a workbook or another packed file. Save it as CSV there, and send that.",
        ),
        (b"Na\x07me\nA\n", "Row 1, column 1: the heading holds a character that cannot be printed."),
        (wide.as_bytes(), "Row 1 has 301 columns; at most 200 are read."),
        (long.as_bytes(), "The file has more than 100000 rows. Cut it into parts, each with the headings."),
    ];
    for (bytes, words) in cases {
        assert_eq!(table(bytes).unwrap_err().to_string(), words);
    }
    assert_eq!(table(&vec![b'a'; LARGEST + 1]), Err(Refused::TooLarge));
}

#[test]
fn the_mark_that_keeps_a_cell_from_being_a_formula_is_taken_away_again() {
    assert_eq!(cells(&read("Phone,Name\n'+49 171,O'Hara\n")), [["+49 171", "O'Hara"]]);
}

#[test]
fn columns_are_known_by_their_heading_and_else_by_what_is_in_them() {
    let table = read(
        "Owner Name,Mobile Phone,E-Mail,Horse,x,y,Import result,Remarks\n\
         A,0171 555 0101,a@b.test,Briar,276098100000012,0555 010 101,entered,kind\n",
    );
    let rows = table.rows.iter().map(|row| row.cells.as_slice());
    let fields = columns::propose(&table.header, rows);
    assert_eq!(fields, ["client_name", "phone", "email", "horse_name", "microchip", "phone", "", ""]);
}

#[test]
fn every_heading_stands_for_one_field_and_every_sex_is_known() {
    assert!(columns::all().len() > 15, "the data file was not read");
    for (word, sex, neutered) in [
        ("Mare", "female", "unknown"),
        ("GELDING", "male", "yes"),
        ("colt", "male", "no"),
        ("", "unknown", "unknown"),
    ] {
        let read = columns::sex(word).map(|(sex, neutered)| (sex.key(), neutered.key()));
        assert_eq!(read, Some((sex, neutered)), "{word}");
    }
    assert_eq!(columns::sex("mule"), None);
}

/// One client with a phone and a horse with a chip.
fn index() -> (Index, ClientId, HorseId) {
    let (client, horse) = (ClientId::new(), HorseId::new());
    let known = KnownClient {
        id: client,
        name: "Anna Marsh".into(),
        email: "anna@marsh.test".into(),
        phones: vec!["495550142".into()],
    };
    let stands = KnownHorse {
        id: horse,
        name: "Briar".into(),
        microchip: "276098100000012".into(),
        ueln: String::new(),
        clients: vec![client],
    };
    (Index::new(vec![known], vec![stands]), client, horse)
}

fn draft(name: &str, phone: &str, horse: &str, chip: &str) -> Draft {
    let mut stands = horses::Details::named(horse);
    chip.clone_into(&mut stands.microchip);
    let horse = (!horse.is_empty()).then_some(stands);
    Draft { client: Some(clients::Details::caller(name, phone)), horse, ..Draft::default() }
}

#[test]
fn a_phone_with_nearly_the_same_name_is_certain_and_a_name_alone_is_not() {
    let (index, client, horse) = index();
    // Name, phone, horse, chip; who it may be, and whether that is certain.
    let cases = [
        ("Anna Marsh", "+49 555 0142", "", "", Some(client), None, true),
        ("Marsh, Ana", "0049 555 01 42", "", "", Some(client), None, true),
        ("Anna Marsh", "", "", "", Some(client), None, false),
        ("Anna Marsch", "", "", "", Some(client), None, false),
        ("Ben Ode", "+49 555 0142", "", "", Some(client), None, false),
        ("Ben Ode", "0777 1234", "", "", None, None, true),
        ("Ben Ode", "", "Bramble", "276098100000012", None, Some(horse), true),
        ("Anna Marsh", "+49 555 0142", "Briar", "", Some(client), Some(horse), true),
        ("Anna Marsh", "+49 555 0142", "Briar", "276098100000020", Some(client), None, true),
        ("Ben Ode", "", "Briar", "", None, None, true),
    ];
    for (name, phone, called, chip, who, which, certain) in cases {
        let found = index.ask(&draft(name, phone, called, chip));
        assert_eq!(
            (found.client, found.horse, found.certain),
            (who, which, certain),
            "{name} {phone} {called} {chip}: {}",
            found.why
        );
    }
}

proptest! {
    /// Whatever the bytes are: a table whose rows have a cell a heading, or why it is none.
    #[test]
    fn any_file_is_a_table_with_whole_rows_or_refused_in_words(
        bytes in prop_oneof![
            prop::collection::vec(any::<u8>(), 0..400),
            "([a-zA-ZäÅ0-9 ]{0,8}[,;\t|\"\n\r'=+-]{0,3}){0,60}".prop_map(String::into_bytes),
            prop::collection::vec(prop::sample::select(&b"a,;\t|\"\r\n\0 \xff\xfe\xef\xbb\xbf"[..]), 0..300),
        ],
    ) {
        match table(&bytes) {
            Ok(table) => {
                prop_assert!(!table.rows.is_empty());
                for row in &table.rows {
                    prop_assert_eq!(row.cells.len(), table.header.len());
                }
                let proposed = columns::propose(&table.header, table.rows.iter().map(|row| row.cells.as_slice()));
                prop_assert_eq!(proposed.len(), table.header.len());
            }
            Err(refused) => prop_assert!(!refused.to_string().is_empty()),
        }
    }
}
