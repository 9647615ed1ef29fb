//! A certificate of the practice's own, from an issuer that its devices trust already: then none of them has to trust
//! anything. It lies in `DATA/certificate/`, or where the command line says, and is looked at as a device would look.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;
use std::sync::Arc;

use anyhow::{Context, bail, ensure};
use jiff::Timestamp;
use rustls::client::verify_server_name;
use rustls::crypto::CryptoProvider;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, ServerName};
use rustls::server::ParsedCertificate;
use rustls::sign::CertifiedKey;
use sha2::{Digest, Sha256};
use x509_parser::extensions::GeneralName;

use super::authority::only_for_the_owner;
use super::here::Here;
use super::options::{CertificateFiles, ServeOptions};

const FOLDER: &str = "certificate";
/// A certificate that ends within so many days is warned of.
const WARN_DAYS: i64 = 14;
const DAY_SECONDS: i64 = 24 * 60 * 60;

/// Where it is looked for.
pub(super) struct Place {
    files: CertificateFiles,
    /// Named on the command line: then it has to be there.
    named: bool,
}

/// What lies there, before anything is said about it.
pub(super) struct Found {
    chain: Vec<u8>,
    key: Vec<u8>,
}

/// A certificate that was looked at and can be served.
#[derive(Debug)]
pub(super) struct Own {
    pub(super) key: Arc<CertifiedKey>,
    /// Tells this pair of files from any other.
    pub(super) digest: Vec<u8>,
    begins: Timestamp,
    ends: Timestamp,
}

impl Place {
    pub(super) fn of(options: &ServeOptions) -> Self {
        let folder = options.data.join(FOLDER);
        let usual = || CertificateFiles { chain: folder.join("chain.pem"), key: folder.join("key.pem") };
        let files = options.certificate.clone();
        Place { named: files.is_some(), files: files.unwrap_or_else(usual) }
    }

    /// The pair as it lies there now; `None` where the practice has none.
    pub(super) fn look(&self) -> anyhow::Result<Option<Found>> {
        let CertificateFiles { chain, key } = &self.files;
        let (chain, key) = match (self.read(chain)?, self.read(key)?) {
            (Some(chain), Some(key)) => (chain, key),
            (None, None) if !self.named => return Ok(None),
            (None, _) => bail!(missing(chain)),
            (_, None) => bail!(missing(key)),
        };
        if !self.named {
            only_for_the_owner(&self.files.key)?;
        }
        Ok(Some(Found { chain, key }))
    }

    fn read(&self, path: &Path) -> anyhow::Result<Option<Vec<u8>>> {
        match fs::read(path) {
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
            read => Ok(Some(read.with_context(|| format!("{} cannot be read", path.display()))?)),
        }
    }

    /// The certificate, if key and chain belong together, it is good now, and it covers the server's name.
    pub(super) fn check(
        &self,
        found: &Found,
        here: &Here,
        provider: &Arc<CryptoProvider>,
        now: Timestamp,
    ) -> anyhow::Result<Own> {
        let CertificateFiles { chain: file, key: key_file } = &self.files;
        let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_slice_iter(&found.chain)
            .collect::<Result<_, _>>()
            .with_context(|| format!("{} is no certificate in PEM", file.display()))?;
        let Some(leaf) = chain.first().cloned() else {
            bail!("{} holds no certificate in PEM", file.display())
        };
        let key = PrivateKeyDer::from_pem_slice(&found.key).with_context(|| {
            format!("{} holds no private key in PEM that can be read", key_file.display())
        })?;
        let (begins, ends) =
            life(&leaf).with_context(|| format!("the certificate in {} is damaged", file.display()))?;
        let key = match CertifiedKey::from_der(chain, key, provider) {
            Ok(key) => key,
            Err(rustls::Error::InconsistentKeys(_)) => bail!(
                "the key in {} does not belong to the first certificate in {}: put in the pair that was made \
                 together, the server's own certificate before those of its issuers",
                key_file.display(),
                file.display()
            ),
            Err(error) => {
                return Err(error).with_context(|| format!("{} cannot be used", key_file.display()));
            }
        };
        let own = Own { key: Arc::new(key), digest: found.digest(), begins, ends };
        let aside = "or move it away to go on with the practice's own authority";
        ensure!(
            now < ends,
            "the certificate in {} ran out on {}: renew it, {aside}",
            file.display(),
            day(ends)
        );
        ensure!(
            begins <= now,
            "the certificate in {} is good from {} on: look at this machine's clock, {aside}",
            file.display(),
            day(begins)
        );
        ensure!(
            own.covers(&here.name),
            "the certificate in {} does not cover this server's name {}, but {}: say its name with --name, {aside}",
            file.display(),
            here.name,
            names_in(&leaf)
        );
        Ok(own)
    }
}

impl Found {
    pub(super) fn digest(&self) -> Vec<u8> {
        Sha256::new().chain_update(&self.chain).chain_update(&self.key).finalize().to_vec()
    }
}

impl Own {
    pub(super) fn covers(&self, name: &str) -> bool {
        let Some(leaf) = self.key.cert.first() else { return false };
        let (Ok(parsed), Ok(name)) = (ParsedCertificate::try_from(leaf), ServerName::try_from(name)) else {
            return false;
        };
        verify_server_name(&parsed, &name).is_ok()
    }

    /// Whether it goes on being good for this server.
    pub(super) fn fits(&self, here: &Here, now: Timestamp) -> bool {
        (self.begins..self.ends).contains(&now) && self.covers(&here.name)
    }

    /// A line for whoever looks after the server, when a new one is due.
    pub(super) fn warning(&self, now: Timestamp) -> Option<String> {
        let days = (self.ends.as_second() - now.as_second()) / DAY_SECONDS;
        (days < WARN_DAYS).then(|| {
            format!(
                "The practice's own certificate ends on {}, in {days} days: put a new one in its place.",
                day(self.ends)
            )
        })
    }
}

fn missing(path: &Path) -> String {
    format!(
        "{} is not there: a certificate of the practice's own is a chain and its key, both in PEM",
        path.display()
    )
}

fn life(leaf: &CertificateDer<'_>) -> anyhow::Result<(Timestamp, Timestamp)> {
    let (_, parsed) = x509_parser::parse_x509_certificate(leaf)?;
    let (from, until) = (parsed.validity().not_before, parsed.validity().not_after);
    Ok((Timestamp::from_second(from.timestamp())?, Timestamp::from_second(until.timestamp())?))
}

/// The names that a certificate covers, for a refusal.
fn names_in(leaf: &CertificateDer<'_>) -> String {
    let Ok((_, parsed)) = x509_parser::parse_x509_certificate(leaf) else { return String::new() };
    let names = parsed.subject_alternative_name().ok().flatten();
    let names: Vec<&str> = names
        .iter()
        .flat_map(|found| &found.value.general_names)
        .filter_map(|name| if let GeneralName::DNSName(name) = name { Some(*name) } else { None })
        .collect();
    if names.is_empty() { "no name at all".to_owned() } else { names.join(", ") }
}

fn day(at: Timestamp) -> String {
    at.strftime("%-d %b %Y").to_string()
}
