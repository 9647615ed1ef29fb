//! The pages of the practice, in groups: those that somebody may open, and the group that is open.

use crate::{accounts::Act, web::Shell};

/// A few pages that belong together. The first that may be opened stands for all.
pub struct Group {
    pub name: &'static str,
    /// Address and name.
    pub pages: Vec<(&'static str, &'static str)>,
    pub is_here: bool,
}

/// Name, and its pages with who may open them.
type Known = (&'static str, &'static [(&'static str, &'static str, Act)]);

const GROUPS: &[Known] = &[
    (
        "Practice",
        &[
            ("/practice", "Settings", Act::RunPractice),
            ("/practice/staff", "Staff", Act::RunPractice),
            ("/practice/tablets", "Tablets", Act::RunPractice),
            ("/practice/record-keeping", "Record keeping", Act::RunPractice),
            ("/practice/audit", "Audit", Act::RunPractice),
        ],
    ),
    (
        "Calls and roads",
        &[
            ("/practice/advice", "Calls", Act::RunPractice),
            ("/practice/messages", "Messages", Act::RunPractice),
            ("/practice/road", "Roads", Act::RunPractice),
            ("/practice/calendars", "Calendars", Act::RunPractice),
            ("/rota", "Rota", Act::SeeDay),
            ("/biosecurity", "Biosecurity", Act::SeeDay),
        ],
    ),
    (
        "Care",
        &[
            ("/practice/formulary", "Formulary", Act::SeeRecord),
            ("/practice/stock", "Controlled drugs", Act::SeeRecord),
            ("/practice/prescribing", "Prescribing", Act::RunPractice),
            ("/practice/programmes", "Programmes", Act::RunPractice),
            ("/practice/competition", "Competition rules", Act::SeeRecord),
        ],
    ),
    (
        "Diagnostics",
        &[
            ("/practice/imaging", "Imaging", Act::RunPractice),
            ("/practice/laboratories", "Laboratories", Act::RunPractice),
            ("/practice/radiation", "Radiation licence", Act::RunPractice),
        ],
    ),
    (
        "Charges",
        &[
            ("/practice/charges", "To hand over", Act::HandCharges),
            ("/practice/prices", "Prices", Act::RunPractice),
        ],
    ),
    (
        "Words and weights",
        &[
            ("/practice/words", "Words", Act::RunPractice),
            ("/practice/letters", "Letters", Act::RunPractice),
            ("/practice/weights", "Weights", Act::SeeRecord),
        ],
    ),
    (
        "In and out",
        &[
            ("/practice/imports", "Import", Act::RunPractice),
            ("/practice/export", "Export", Act::RunPractice),
            ("/practice/backups", "Backups", Act::RunPractice),
        ],
    ),
];

/// The groups with a page that this person may open. `here` is the address of the page that is shown.
pub fn groups(shell: &Shell, here: &str) -> Vec<Group> {
    let open = |(name, pages): &Known| {
        let pages: Vec<_> = pages
            .iter()
            .filter(|(_, _, act)| shell.may(*act))
            .map(|&(address, words, _)| (address, words))
            .collect();
        let is_here = pages.iter().any(|(address, _)| *address == here);
        (!pages.is_empty()).then_some(Group { name, pages, is_here })
    };
    GROUPS.iter().filter_map(open).collect()
}
