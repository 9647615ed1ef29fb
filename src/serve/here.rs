//! The names and addresses this machine answers to just now.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};

use super::options::ServeOptions;

const DEFAULT_NAME: &str = "limbledger";

/// A look at this machine: compared with the next one, it tells whether a new certificate is due.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Here {
    /// Every name it may be called, the announced `.local` one included; never empty.
    pub(super) names: Vec<String>,
    /// The name devices are asked to use.
    pub(super) name: String,
    /// Private and loopback addresses, sorted.
    pub(super) addresses: Vec<IpAddr>,
    /// What the listener holds.
    bound: SocketAddr,
}

impl Here {
    pub(super) fn look(options: &ServeOptions, bound: SocketAddr) -> Self {
        let chosen: Vec<String> = options.host_names.iter().map(|name| name.to_ascii_lowercase()).collect();
        let first = chosen.first().map_or(DEFAULT_NAME, String::as_str);
        let local = local_name(first);
        // A full name of the practice's own is served by its router; a bare one resolves only through `.local`.
        let name = if first.contains('.') { first.to_owned() } else { local.clone() };

        let mut names = if chosen.is_empty() { vec![DEFAULT_NAME.to_owned()] } else { chosen };
        names.push(local);
        names.sort();
        names.dedup();

        let mut addresses = machine_addresses();
        addresses.extend([IpAddr::V4(Ipv4Addr::LOCALHOST), IpAddr::V6(Ipv6Addr::LOCALHOST)]);
        addresses.push(bound.ip().to_canonical());
        addresses.retain(is_near);
        addresses.sort();
        addresses.dedup();
        Self { names, name, addresses, bound }
    }

    pub(super) fn port(&self) -> u16 {
        self.bound.port()
    }

    /// The address listened on, unless it is all of them.
    pub(super) fn only_address(&self) -> Option<IpAddr> {
        let ip = self.bound.ip().to_canonical();
        (!ip.is_unspecified()).then_some(ip)
    }

    /// Where to knock from outside: the address listened on or, listening on all, the likeliest of them.
    pub(super) fn door(&self) -> SocketAddr {
        let beyond = |ip: &&IpAddr| ip.is_ipv4() && !ip.is_loopback();
        let likeliest = || self.addresses.iter().find(beyond).copied();
        let ip = self.only_address().or_else(likeliest).unwrap_or(Ipv4Addr::LOCALHOST.into());
        SocketAddr::new(ip, self.port())
    }

    /// The one origin devices should be bound to.
    pub(super) fn origin(&self) -> String {
        format!("https://{}:{}", self.name, self.port())
    }

    /// The name announced on the LAN.
    pub(super) fn local_name(&self) -> String {
        local_name(&self.name)
    }

    /// Looks again at the same listener.
    pub(super) fn again(&self, options: &ServeOptions) -> Self {
        Self::look(options, self.bound)
    }
}

fn local_name(name: &str) -> String {
    format!("{}.local", name.split('.').next().unwrap_or(name))
}

/// The addresses of this machine's interfaces.
pub(super) fn machine_addresses() -> Vec<IpAddr> {
    match if_addrs::get_if_addrs() {
        Ok(interfaces) => interfaces.iter().map(|interface| interface.ip().to_canonical()).collect(),
        Err(error) => {
            tracing::warn!(%error, "cannot read this machine's addresses");
            Vec::new()
        }
    }
}

/// Private, loopback or a unique local address: what the practice authority may speak for.
/// Link-local ones are left out: a browser cannot name the interface they need.
pub fn is_near(ip: &IpAddr) -> bool {
    match ip {
        IpAddr::V4(ip) => ip.is_private() || ip.is_loopback(),
        IpAddr::V6(ip) => ip.is_unique_local() || ip.is_loopback(),
    }
}

/// The addresses worth giving to `--listen`, for a refusal that says what to do.
pub(super) fn suggestions() -> String {
    let mut near: Vec<String> = machine_addresses()
        .iter()
        .filter(|ip| is_near(ip))
        .map(|ip| format!("--listen {}", SocketAddr::new(*ip, 7420)))
        .collect();
    near.push("--listen 0.0.0.0:7420 for all of them".to_owned());
    near.join(" or ")
}
