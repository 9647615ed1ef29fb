//! Slows guessing of passwords: per account and per address, never for good.

use std::{
    collections::HashMap,
    net::IpAddr,
    sync::{Mutex, PoisonError},
};

use crate::clock::At;

/// Failures that cost nothing; after them each doubles the wait.
const FREE: u32 = 5;
const LONGEST_WAIT_MS: i64 = 15 * 60_000;
/// Attempts from one address a minute.
const PER_ADDRESS: u32 = 20;

#[derive(Default)]
pub struct Throttle {
    accounts: Mutex<HashMap<String, Failures>>,
    addresses: Mutex<HashMap<IpAddr, (i64, u32)>>,
}

#[derive(Clone, Copy)]
struct Failures {
    count: u32,
    last: At,
}

impl Throttle {
    /// Seconds to wait before this account may be tried again from this address; `None` means now.
    pub fn wait(&self, account: &str, address: IpAddr, now: At) -> Option<u64> {
        let mut addresses = self.addresses.lock().unwrap_or_else(PoisonError::into_inner);
        let minute = now.0 / 60_000;
        addresses.retain(|_, (m, _)| *m == minute);
        let (_, count) = addresses.entry(address).or_insert((minute, 0));
        *count += 1;
        if *count > PER_ADDRESS {
            return Some(60);
        }
        let accounts = self.accounts.lock().unwrap_or_else(PoisonError::into_inner);
        // A failure that lies ahead was by a clock that was wrong.
        let failures = accounts.get(&account.to_lowercase()).filter(|failures| failures.last <= now)?;
        let wait = failures.wait();
        let left = failures.last.0 + wait - now.0;
        (wait > 0 && left > 0).then(|| u64::try_from(left / 1000 + 1).unwrap_or(1))
    }

    pub fn failed(&self, account: &str, now: At) {
        let mut accounts = self.accounts.lock().unwrap_or_else(PoisonError::into_inner);
        accounts.retain(|_, f| (0..2 * LONGEST_WAIT_MS).contains(&(now.0 - f.last.0)));
        let failures = accounts.entry(account.to_lowercase()).or_insert(Failures { count: 0, last: now });
        failures.count += 1;
        failures.last = now;
    }

    pub fn succeeded(&self, account: &str) {
        self.accounts.lock().unwrap_or_else(PoisonError::into_inner).remove(&account.to_lowercase());
    }
}

impl Failures {
    fn wait(self) -> i64 {
        if self.count < FREE {
            return 0;
        }
        let doubled = 1_000_i64.checked_shl((self.count - FREE).min(20)).unwrap_or(LONGEST_WAIT_MS);
        doubled.min(LONGEST_WAIT_MS)
    }
}
