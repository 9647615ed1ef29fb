//! A cell that no spreadsheet takes for a formula. A sign in front of it makes it words; our own import takes the sign
//! away again.

use std::borrow::Cow;

/// What a spreadsheet may reckon with when a cell begins with it (OWASP, CSV injection).
const BEGINNINGS: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// The cell as it is, or with an apostrophe before it.
pub fn cell(text: &str) -> Cow<'_, str> {
    if text.starts_with(BEGINNINGS) { Cow::Owned(format!("'{text}")) } else { Cow::Borrowed(text) }
}
