//! The list of hosts a request may ask for. A page of a stranger that points its own name at this machine
//! (DNS rebinding) arrives with that name, and is turned away before any route is looked at.

use std::net::{IpAddr, SocketAddr};

use axum::http::header::HOST;
use axum::http::{HeaderMap, Uri};

/// Names and addresses under which this server may be asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hosts {
    names: Vec<String>,
    addresses: Vec<IpAddr>,
    port: u16,
}

/// How a request named this server.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    ByName,
    ByAddress,
    /// As `localhost`: a name that this machine shares with every other program on it.
    AsLocalhost,
}

impl Hosts {
    /// `localhost` is always known besides the names.
    pub fn new(names: &[String], addresses: &[IpAddr], port: u16) -> Self {
        Self { names: names.to_vec(), addresses: addresses.to_vec(), port }
    }

    /// How the request asked for this server, or `None` when it asked for another, for none or for two.
    /// A target that carries its own authority (HTTP/2, or an absolute one) must be right as well.
    pub fn asked(&self, uri: &Uri, headers: &HeaderMap) -> Option<Asked> {
        let mut hosts = headers.get_all(HOST).iter();
        let header = match (hosts.next(), hosts.next()) {
            (_, Some(_)) => return None,
            (Some(host), None) => Some(self.knows(host.to_str().ok()?)?),
            (None, None) => None,
        };
        match uri.authority() {
            Some(authority) => {
                let target = self.knows(authority.as_str())?;
                header.is_none_or(|header| header == target).then_some(target)
            }
            None => header,
        }
    }

    /// `host` or `host:port`, compared without regard to case; the port must be this server's or left out.
    fn knows(&self, asked: &str) -> Option<Asked> {
        if let Ok(ip) = asked.trim_start_matches('[').trim_end_matches(']').parse::<IpAddr>() {
            let written_well = ip.is_ipv6() == (asked.starts_with('[') && asked.ends_with(']'));
            return (written_well && self.addresses.contains(&ip)).then_some(Asked::ByAddress);
        }
        if let Ok(address) = asked.parse::<SocketAddr>() {
            let ours = self.addresses.contains(&address.ip()) && address.port() == self.port;
            return ours.then_some(Asked::ByAddress);
        }
        let name = match asked.rsplit_once(':') {
            Some((name, port)) => (port == self.port.to_string()).then_some(name)?,
            None => asked,
        };
        if name.eq_ignore_ascii_case("localhost") {
            return Some(Asked::AsLocalhost);
        }
        self.names.iter().any(|ours| ours.eq_ignore_ascii_case(name)).then_some(Asked::ByName)
    }
}
