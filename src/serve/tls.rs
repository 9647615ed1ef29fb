//! The certificate in use, replaced while serving when addresses change or it grows old.

use std::sync::{Arc, PoisonError, RwLock};
use std::time::Duration;

use anyhow::Context;
use jiff::Timestamp;
use rustls::client::WebPkiServerVerifier;
use rustls::client::danger::ServerCertVerifier;
use rustls::crypto::{CryptoProvider, ring};
use rustls::pki_types::{ServerName, UnixTime};
use rustls::server::{ClientHello, ResolvesServerCert};
use rustls::sign::CertifiedKey;
use rustls::{RootCertStore, ServerConfig};
use tokio_rustls::TlsAcceptor;

use super::authority::{Authority, Leaf, names_in};
use super::here::Here;
use super::options::ServeOptions;

/// Everything a listener beyond loopback has on top: the authority and the certificate it serves.
pub(super) struct Lan {
    authority: Authority,
    provider: Arc<CryptoProvider>,
    current: Arc<Current>,
    acceptor: TlsAcceptor,
}

impl Lan {
    pub(super) fn open(options: &ServeOptions, here: &Here) -> anyhow::Result<Self> {
        let now = (options.clock)();
        let provider = Arc::new(ring::default_provider());
        let authority = Authority::open(&options.data, &here.names, now)?;
        let served = issue(&authority, &provider, here, now)?;
        let current = Arc::new(Current(RwLock::new(served)));
        let mut config = ServerConfig::builder_with_provider(Arc::clone(&provider))
            .with_safe_default_protocol_versions()?
            .with_no_client_auth()
            .with_cert_resolver(Arc::<Current>::clone(&current));
        config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
        Ok(Self { authority, provider, current, acceptor: TlsAcceptor::from(Arc::new(config)) })
    }

    pub(super) fn authority(&self) -> &Authority {
        &self.authority
    }

    pub(super) fn acceptor(&self) -> &TlsAcceptor {
        &self.acceptor
    }

    /// Takes a new certificate when this machine's addresses changed or the old one is two thirds through.
    pub(super) fn refresh(&self, here: &Here, now: Timestamp) -> anyhow::Result<()> {
        if self.current.read().fits(here, now) {
            return Ok(());
        }
        let served = issue(&self.authority, &self.provider, here, now)?;
        *self.current.0.write().unwrap_or_else(PoisonError::into_inner) = served;
        tracing::info!("took a new server certificate");
        Ok(())
    }
}

#[derive(Debug, Clone)]
struct Served {
    key: Arc<CertifiedKey>,
    here: Here,
    issued: Timestamp,
    renew_at: Timestamp,
}

impl Served {
    /// A clock set back behind the issue counts as old too: the certificate would not be valid yet.
    fn fits(&self, here: &Here, now: Timestamp) -> bool {
        self.here == *here && (self.issued..self.renew_at).contains(&now)
    }
}

/// The lock is held for a clone only, so a panic cannot leave it half written.
#[derive(Debug)]
struct Current(RwLock<Served>);

impl Current {
    fn read(&self) -> Served {
        self.0.read().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

impl ResolvesServerCert for Current {
    fn resolve(&self, _: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        Some(self.read().key)
    }
}

fn issue(
    authority: &Authority,
    provider: &Arc<CryptoProvider>,
    here: &Here,
    now: Timestamp,
) -> anyhow::Result<Served> {
    let leaf = authority.issue(&here.names, &here.addresses, now)?;
    check(authority, provider, here, &leaf, now).with_context(|| {
        format!(
            "the practice authority does not cover this server's name {}: leave --name out to go on as {}, or \
             move DATA/authority away to make a new one, which every tablet then has to trust",
            here.name,
            names_in(authority.certificate()).join(", "),
        )
    })?;
    let renew_at = leaf.renew_at;
    let key = Arc::new(CertifiedKey::from_der(leaf.chain, leaf.key, provider)?);
    Ok(Served { key, here: here.clone(), issued: now, renew_at })
}

/// Looks at the certificate as a tablet will, so that a name the authority may not speak for is found at the
/// server and not in the yard.
fn check(
    authority: &Authority,
    provider: &Arc<CryptoProvider>,
    here: &Here,
    leaf: &Leaf,
    now: Timestamp,
) -> anyhow::Result<()> {
    let mut roots = RootCertStore::empty();
    roots.add(authority.certificate().clone())?;
    let verifier =
        WebPkiServerVerifier::builder_with_provider(Arc::new(roots), Arc::clone(provider)).build()?;
    let (certificate, _) = leaf.chain.split_first().context("a certificate without a chain")?;
    let seconds = u64::try_from(now.as_second()).context("the clock stands before 1970")?;
    let at = UnixTime::since_unix_epoch(Duration::from_secs(seconds));
    for name in &here.names {
        let name = ServerName::try_from(name.as_str())?;
        verifier.verify_server_cert(certificate, &[], &name, &[], at)?;
    }
    Ok(())
}
