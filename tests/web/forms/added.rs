//! What somebody adds to a form by hand: fields that it does not have, and a field that comes twice.

use super::{Kind, Open, Page, Trial};

/// Columns of our tables, and fields of other forms. A form that has none of these takes none of them.
const ADDED: [(&str, &str); 13] = [
    ("id", "00000000-0000-7000-8000-000000000001"),
    ("version", "999"),
    ("role", "owner"),
    ("licensed", "1"),
    ("active", "0"),
    ("staff_id", "00000000-0000-7000-8000-000000000001"),
    ("signed_by", "00000000-0000-7000-8000-000000000001"),
    ("seen_by", "00000000-0000-7000-8000-000000000001"),
    ("entered_by", "00000000-0000-7000-8000-000000000001"),
    ("created_at", "0"),
    ("state", "signed"),
    ("password_hash", "$argon2id$"),
    ("must_choose", "no"),
];

/// Forms whose fields depend on what is asked, read and examined, and with that which of them are there: of two of one name
/// one is read, always the same.
const ONE_IS_READ: [(&str, &str); 18] = [
    ("/call", "client_name"),
    ("/call", "words-1"),
    ("/clients/{id}/merge", "reason"),
    ("/horses/{id}/merge", "reason"),
    ("/practice/imports/{id}/columns", "column-0"),
    ("/practice/imports/{id}/decide", "likely"),
    ("/rota", "rota-0-day-first"),
    ("/visits/{id}/complaints", "words-1"),
    ("/visits/{id}/exam/caution", "caution_reason"),
    ("/visits/{id}/exam/entries/finding", "extra"),
    ("/visits/{id}/exam/flexion", "other-FX_DF"),
    ("/visits/{id}/exam/gait", "surface-WLK_S"),
    ("/visits/{id}/exam/line/record", "line_reason"),
    ("/visits/{id}/exam/neuro", "neuro_note"),
    ("/visits/{id}/exam/standing", "conformation"),
    ("/visits/{id}/exam/standing", "score_number"),
    ("/visits/{id}/exam/vitals", "temp_c"),
    ("/visits/{id}/move", "day"),
];

/// Forms that are about who may what, or that sign.
const ABOUT_STANDING: [&str; 2] = ["/practice/staff", "/sign"];

impl Trial<'_> {
    /// Sends the form as it should be, with more than it has: it is taken as if they were not there.
    pub(super) async fn with_added_fields(&mut self, open: &mut Open) -> Page {
        let added: Vec<_> = ADDED.into_iter().filter(|(name, _)| !open.form.has(name)).collect();
        let before = open.practice.standing().await;
        let answer = self.send(open, &added).await;
        let about_it = ABOUT_STANDING.iter().any(|part| self.known.action.contains(part));
        if !about_it && open.practice.standing().await != before {
            self.blame("added fields: who may what or what is signed was changed by them");
        }
        answer
    }

    /// A field that is meant once and comes twice is refused: nobody could say which of the two is meant.
    pub(super) async fn with_a_field_twice(&mut self, open: &mut Open) {
        let names = open.form.names();
        let first = |kind| names.iter().find(|(_, one)| *one == kind).map(|(name, _)| name.clone());
        let Some(field) = first(Kind::Typed).or_else(|| first(Kind::Chosen)) else { return };
        let with = self.found.with(&[]);
        let mut fields = open.form.filled(&with);
        if !fields.iter().any(|(name, _)| *name == field) {
            fields.push((&field, "one"));
        }
        fields.push((&field, "another"));
        let answer = open.browser.post(&open.form.action, &fields).await;
        let one_is_read = ONE_IS_READ.contains(&(self.known.action, field.as_str()));
        if answer.status.is_server_error() || answer.status.is_client_error() == one_is_read {
            self.blame(format!("{field} twice: answered {}", answer.status));
        }
        if answer.status.is_redirection() {
            *open = self.open().await;
        }
    }
}
