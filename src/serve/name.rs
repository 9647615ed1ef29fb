//! The server's name on the LAN, announced by multicast DNS (RFC 6762) so that a tablet finds it without a
//! router's help. A network that blocks this is no reason not to serve: the address still works.

use mdns_sd::{IfKind, ServiceDaemon, ServiceInfo};

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
    let instance = name.trim_end_matches(".local");
    let no_properties: &[(&str, &str)] = &[];
    let addresses = here.only_address().map_or_else(String::new, |ip| ip.to_string());
    let mut service = ServiceInfo::new(
        "_https._tcp.local.",
        instance,
        &format!("{name}."),
        addresses,
        here.port(),
        no_properties,
    )?;
    if here.only_address().is_none() {
        // Listening on all of them: follow the interfaces as they come and go.
        service = service.enable_addr_auto();
    }
    let daemon = ServiceDaemon::new()?;
    if here.door().is_ipv4() {
        // Nobody answers on the other kind, and a tablet would try it first.
        daemon.disable_interface(IfKind::IPv6)?;
    }
    daemon.register(service)?;
    Ok(daemon)
}
