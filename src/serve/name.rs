//! The server's name on the LAN, announced by multicast DNS (RFC 6762) so that a tablet finds it without a
//! router's help. A network that blocks this is no reason not to serve: the address still works.

use mdns_sd::{ServiceDaemon, ServiceInfo};

use super::here::Here;

/// An announcement that stands until it is withdrawn.
pub(super) struct Announced(ServiceDaemon);

impl Announced {
    pub(super) fn withdraw(self) {
        if let Err(error) = self.0.shutdown() {
            tracing::debug!(%error, "cannot withdraw the name");
        }
    }
}

/// Announces the `.local` name; a failure is logged and not fatal.
pub(super) fn announce(here: &Here) -> Option<Announced> {
    let name = here.local_name();
    match try_announce(here, &name) {
        Ok(daemon) => Some(Announced(daemon)),
        Err(error) => {
            tracing::warn!(%name, %error, "cannot announce the name; reach the server by its address");
            None
        }
    }
}

fn try_announce(here: &Here, name: &str) -> mdns_sd::Result<ServiceDaemon> {
    let host = format!("{name}.");
    let instance = name.trim_end_matches(".local");
    let new = |addresses: &str| {
        ServiceInfo::new(
            "_https._tcp.local.",
            instance,
            &host,
            addresses,
            here.port(),
            None::<std::collections::HashMap<String, String>>,
        )
    };
    let service = match here.only_address() {
        Some(ip) => new(&ip.to_string())?,
        None => new("")?.enable_addr_auto(),
    };
    let daemon = ServiceDaemon::new()?;
    daemon.register(service)?;
    Ok(daemon)
}
