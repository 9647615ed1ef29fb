//! How many connections may stand open, from one address and in all: one device, broken or hostile, must not
//! keep the others out.

use std::collections::HashMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};

/// The places there are.
#[derive(Clone)]
pub(super) struct Caps {
    taken: Arc<Mutex<HashMap<IpAddr, usize>>>,
    per_ip: usize,
    total: usize,
}

/// One taken place; free again when dropped.
pub(super) struct Place {
    taken: Arc<Mutex<HashMap<IpAddr, usize>>>,
    ip: IpAddr,
}

impl Caps {
    pub(super) fn new(per_ip: usize, total: usize) -> Self {
        Self { taken: Arc::default(), per_ip, total }
    }

    pub(super) fn take(&self, ip: IpAddr) -> Option<Place> {
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        let from_there = taken.get(&ip).copied().unwrap_or(0);
        if from_there >= self.per_ip || taken.values().sum::<usize>() >= self.total {
            return None;
        }
        taken.insert(ip, from_there + 1);
        Some(Place { taken: Arc::clone(&self.taken), ip })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut taken = self.taken.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = taken.get_mut(&self.ip) {
            *count -= 1;
            if *count == 0 {
                taken.remove(&self.ip);
            }
        }
    }
}
