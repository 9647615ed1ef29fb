//! Codes: those that a device reckons from the clock, and those on paper for the day it is lost.

use anyhow::Context;
use percent_encoding::{NON_ALPHANUMERIC, utf8_percent_encode};
use sha2::{Digest, Sha256};
use totp_rs::{Builder, Secret as Shared};

use crate::{accounts::token, clock::At, ids::StaffId, sealing};

/// RFC 4226, section 4, R6: 160 bits.
pub const SECRET_LEN: usize = 20;
pub type Secret = [u8; SECRET_LEN];

/// RFC 6238, section 5.2: steps of 30 seconds, and one step of delay.
const STEP_MS: i64 = 30_000;
const TOLERANCE: i64 = 1;
/// Codes on paper.
pub(super) const RECOVERY: usize = 10;

/// A new secret for a device.
pub(super) fn secret() -> anyhow::Result<Secret> {
    sealing::random()
}

/// The step after `last` whose code this is, at most one step from `now`; SHA-1 and six digits, as authenticator
/// programs expect. Whoever keeps it as the next `last` takes each code once.
pub fn step_of(secret: &Secret, typed: &str, now: At, last: i64) -> Option<i64> {
    let device = Builder::new().with_secret(Shared::new_stack(*secret)).with_skew(0).build().ok()?;
    let here = now.0.div_euclid(STEP_MS);
    (here - TOLERANCE..=here + TOLERANCE).filter(|step| *step > last).find(|step| {
        u64::try_from(step * STEP_MS / 1000).is_ok_and(|seconds| device.check(typed, seconds).is_some())
    })
}

/// The secret as one types it by hand: base32 (RFC 4648, section 6) in groups of four.
pub(super) fn by_hand(secret: &Secret) -> String {
    let letters: Vec<char> = data_encoding::BASE32_NOPAD.encode(secret).chars().collect();
    letters.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join(" ")
}

/// What a device reads with its camera: the address form that authenticator programs share.
pub(super) fn address(secret: &Secret, practice: &str, name: &str) -> String {
    let plain = |text: &str| utf8_percent_encode(&text.replace(':', " "), NON_ALPHANUMERIC).to_string();
    let (practice, name) = (plain(practice), plain(name));
    let secret = data_encoding::BASE32_NOPAD.encode(secret);
    format!(
        "otpauth://totp/{practice}:{name}?secret={secret}&issuer={practice}&algorithm=SHA1&digits=6&period=30"
    )
}

/// Fresh codes for paper: 80 bits each.
pub(super) fn recovery() -> anyhow::Result<Vec<String>> {
    (0..RECOVERY).map(|_| token::code_of::<16>().context("recovery codes")).collect()
}

/// How a recovery code is kept. Eighty random bits want no slow hash.
pub fn digest(staff: StaffId, typed: &str) -> Vec<u8> {
    let plain: String =
        typed.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_uppercase()).collect();
    Sha256::digest(format!("{staff} {plain}")).to_vec()
}
