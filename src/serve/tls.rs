//! The certificates in use, replaced while serving: that of the practice's own authority when addresses change or it
//! grows old, the practice's own one when its files change.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError, RwLock};
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
use super::own::{Own, Place};

/// Everything a listener beyond loopback has on top: the authority, and the certificates it serves.
pub(super) struct Lan {
    authority: Authority,
    provider: Arc<CryptoProvider>,
    place: Place,
    current: Arc<Current>,
    /// What was said already about the pair of files with this digest: it is not said every minute.
    said: Mutex<Vec<u8>>,
    nothing_to_trust: Arc<AtomicBool>,
    acceptor: TlsAcceptor,
}

impl Lan {
    /// # Errors
    /// A certificate of the practice's own that is there cannot be used, or the authority does not cover the name.
    pub(super) fn open(options: &ServeOptions, here: &Here) -> anyhow::Result<Self> {
        let now = (options.clock)();
        let provider = Arc::new(ring::default_provider());
        let authority = Authority::open(&options.data, &here.names, now)?;
        let place = Place::of(options);
        let own = place.look()?.map(|found| place.check(&found, here, &provider, now)).transpose()?;
        let own = own.map(Arc::new);
        let served = issue(&authority, &provider, here, own.as_deref(), now)?;
        let nothing_to_trust = Arc::new(AtomicBool::new(own.is_some()));
        // A warning stands on the server's screen at the start: it is not said again.
        let said = own.as_ref().filter(|own| own.warning(now).is_some()).map(|own| own.digest.clone());
        let current = Arc::new(Current(RwLock::new(InUse { served, own })));
        let mut config = ServerConfig::builder_with_provider(Arc::clone(&provider))
            .with_safe_default_protocol_versions()?
            .with_no_client_auth()
            .with_cert_resolver(Arc::<Current>::clone(&current));
        // All that is offered is good; the server chooses among it, so that a device's poor choice of order does not count.
        config.ignore_client_order = true;
        config.alpn_protocols = vec![b"h2".to_vec(), b"http/1.1".to_vec()];
        let acceptor = TlsAcceptor::from(Arc::new(config));
        let said = Mutex::new(said.unwrap_or_default());
        Ok(Self { authority, provider, place, current, said, nothing_to_trust, acceptor })
    }

    pub(super) fn authority(&self) -> &Authority {
        &self.authority
    }

    pub(super) fn acceptor(&self) -> &TlsAcceptor {
        &self.acceptor
    }

    /// Whether devices trust this server's name already; it changes with the files.
    pub(super) fn nothing_to_trust(&self) -> &Arc<AtomicBool> {
        &self.nothing_to_trust
    }

    /// What has to be done soon about the practice's own certificate.
    pub(super) fn warning(&self, now: Timestamp) -> Option<String> {
        self.current.read().own?.warning(now)
    }

    /// Looks at the files again, and takes a new certificate from the authority when this machine's addresses changed or
    /// the old one is two thirds through.
    pub(super) fn refresh(&self, here: &Here, now: Timestamp) -> anyhow::Result<()> {
        let before = self.current.read();
        let own = self.own_now(before.own.clone(), here, now);
        let same = digest(own.as_ref()) == digest(before.own.as_ref());
        if same && before.served.fits(here, now) {
            return Ok(());
        }
        let served = issue(&self.authority, &self.provider, here, own.as_deref(), now)?;
        self.nothing_to_trust.store(own.is_some(), Ordering::Relaxed);
        *self.current.0.write().unwrap_or_else(PoisonError::into_inner) = InUse { served, own };
        tracing::info!("took a new server certificate");
        Ok(())
    }

    /// The practice's own certificate as its files are now. New files that cannot be used leave the old one in use for as
    /// long as it is good: they may be half written.
    fn own_now(&self, before: Option<Arc<Own>>, here: &Here, now: Timestamp) -> Option<Arc<Own>> {
        let found = match self.place.look() {
            Ok(found) => found?,
            Err(error) => {
                self.say(b"unreadable", &format!("{error:#}"));
                return before.filter(|own| own.fits(here, now));
            }
        };
        let digest = found.digest();
        let kept = before.filter(|own| own.fits(here, now));
        if let Some(own) = kept.as_ref().filter(|own| own.digest == digest) {
            if let Some(warning) = own.warning(now) {
                self.say(&digest, &warning);
            }
            return kept;
        }
        match self.place.check(&found, here, &self.provider, now) {
            Ok(own) => Some(Arc::new(own)),
            Err(error) => {
                self.say(&digest, &format!("{error:#}"));
                kept
            }
        }
    }

    /// Says something about these files, once.
    fn say(&self, about: &[u8], words: &str) {
        let mut said = self.said.lock().unwrap_or_else(PoisonError::into_inner);
        if *said != about {
            tracing::warn!("{words}");
            *said = about.to_vec();
        }
    }
}

fn digest(own: Option<&Arc<Own>>) -> Option<&[u8]> {
    own.map(|own| own.digest.as_slice())
}

/// What devices are shown: the practice's own certificate under the names that it covers, the authority's under all
/// others and by address.
#[derive(Debug, Clone)]
struct InUse {
    served: Served,
    own: Option<Arc<Own>>,
}

/// A certificate of the authority.
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
struct Current(RwLock<InUse>);

impl Current {
    fn read(&self) -> InUse {
        self.0.read().unwrap_or_else(PoisonError::into_inner).clone()
    }
}

impl ResolvesServerCert for Current {
    fn resolve(&self, hello: ClientHello<'_>) -> Option<Arc<CertifiedKey>> {
        let InUse { served, own } = self.read();
        let asked = hello.server_name();
        let own = own.filter(|own| asked.is_some_and(|name| own.covers(name)));
        Some(own.map_or(served.key, |own| Arc::clone(&own.key)))
    }
}

/// A certificate of the authority for every name that the practice's own does not cover, and for the addresses.
fn issue(
    authority: &Authority,
    provider: &Arc<CryptoProvider>,
    here: &Here,
    own: Option<&Own>,
    now: Timestamp,
) -> anyhow::Result<Served> {
    let names: Vec<String> =
        here.names.iter().filter(|name| !own.is_some_and(|own| own.covers(name))).cloned().collect();
    let leaf = authority.issue(&names, &here.addresses, now)?;
    check(authority, provider, &names, &leaf, now).with_context(|| {
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
    names: &[String],
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
    for name in names {
        let name = ServerName::try_from(name.as_str())?;
        verifier.verify_server_cert(certificate, &[], &name, &[], at)?;
    }
    Ok(())
}
