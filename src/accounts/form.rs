//! Names, roles and secrets as typed, and what is wrong with them.

use super::{Role, weakness};
use crate::web::Check;

const LONGEST_NAME: usize = 120;
const PIN_DIGITS: usize = 6;

/// The name of an account.
pub fn name(check: &mut Check, field: &str, typed: &str) -> String {
    check.needed(field, typed, LONGEST_NAME, "Enter the name, as it should stand under an entry.")
}

/// A new password, typed twice; `known` are words that anybody would try.
pub fn new_password(check: &mut Check, field: &str, typed: &str, again: &str, known: &[&str]) {
    if typed.is_empty() {
        check.errors.add(field, "Enter a password.");
    } else if let Some(weak) = weakness(typed, known) {
        check.errors.add(field, weak);
    } else if typed != again {
        check.errors.add(&format!("{field}_again"), "This is not the same as the password above.");
    }
}

/// Whether somebody of this role holds a licence: every vet does, an owner may, nobody else can.
pub fn licence(check: &mut Check, field: &str, role: Role, ticked: bool) -> bool {
    match role {
        Role::Vet => true,
        Role::Owner => ticked,
        Role::Technician | Role::Desk => {
            if ticked {
                check.errors.add(
                    field,
                    "A licensed veterinarian has the role of veterinarian or owner. Change the role or take the tick away.",
                );
            }
            false
        }
    }
}

/// A new PIN, typed twice; both empty means none.
pub fn new_pin(check: &mut Check, field: &str, typed: &str, again: &str) -> Option<String> {
    if typed.is_empty() && again.is_empty() {
        return None;
    }
    let digits: Vec<u8> = typed.bytes().collect();
    if digits.len() != PIN_DIGITS || !digits.iter().all(u8::is_ascii_digit) {
        check.errors.add(field, "Enter six digits, or leave both boxes empty for no PIN.");
    } else if is_run(&digits) {
        check.errors.add(field, "This one is easy to guess. Use digits that do not follow one another.");
    } else if typed != again {
        check.errors.add(&format!("{field}_again"), "This is not the same as the PIN above.");
    }
    Some(typed.to_owned())
}

/// 000000, 123456, 987654: every step the same and at most one.
fn is_run(digits: &[u8]) -> bool {
    let steps: Vec<i16> = digits.windows(2).map(|pair| i16::from(pair[1]) - i16::from(pair[0])).collect();
    steps.iter().all(|step| Some(step) == steps.first() && step.abs() <= 1)
}
