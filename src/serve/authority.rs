//! The practice's own certificate authority, made at first start and kept in `DATA/authority/`.
//!
//! Its certificate speaks only for the chosen names, `.local`, localhost and private addresses (a critical
//! constraint), so a stolen key cannot pose as anybody's bank, and a change of address needs only a new
//! server certificate under the same authority: no tablet has to trust anything again.

use std::fs;
use std::io::Write;
use std::net::IpAddr;
use std::path::Path;

use anyhow::Context;
use jiff::{SignedDuration, Timestamp};
use rcgen::{
    BasicConstraints, CertificateParams, CidrSubnet, DnType, ExtendedKeyUsagePurpose, GeneralSubtree, IsCa,
    Issuer, KeyPair, KeyUsagePurpose, NameConstraints, PKCS_ECDSA_P256_SHA256, SanType,
};
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer, PrivatePkcs8KeyDer};
use sha2::{Digest, Sha256};
use time::OffsetDateTime;
use x509_parser::extensions::GeneralName;

const FOLDER: &str = "authority";
const CERTIFICATE: &str = "practice-authority.pem";
const KEY: &str = "practice-authority.key";

/// Twenty years: longer than the tablets that trust it.
const AUTHORITY_LIFE: SignedDuration = SignedDuration::from_hours(20 * 365 * 24);
/// Browsers refuse server certificates that live longer than about thirteen months.
const LEAF_LIFE: SignedDuration = SignedDuration::from_hours(397 * 24);
/// Certificates begin a day early: a tablet's clock is often slow.
const EARLY: SignedDuration = SignedDuration::from_hours(24);

/// Names every authority may speak for. `local` without a leading dot covers every name below it (RFC 5280,
/// 4.2.1.10).
const NEAR: [&str; 2] = ["local", "localhost"];

/// Address ranges the authority may speak for: private ones of RFC 1918 and RFC 4193, and loopback.
const RANGES: [(&str, u8); 6] =
    [("10.0.0.0", 8), ("172.16.0.0", 12), ("192.168.0.0", 16), ("127.0.0.0", 8), ("fc00::", 7), ("::1", 128)];

/// The authority, able to sign.
pub struct Authority {
    issuer: Issuer<'static, KeyPair>,
    certificate: CertificateDer<'static>,
}

/// A server certificate with its key; both live in memory only.
pub struct Leaf {
    pub chain: Vec<CertificateDer<'static>>,
    pub key: PrivateKeyDer<'static>,
    /// When two thirds of its life are over and a new one is due.
    pub renew_at: Timestamp,
}

impl Authority {
    /// Opens the authority of this data folder, or makes one for `names`.
    pub fn open(data: &Path, names: &[String], now: Timestamp) -> anyhow::Result<Self> {
        let folder = data.join(FOLDER);
        if !folder.exists() {
            make(data, names, now)
                .with_context(|| format!("cannot make the practice authority in {}", folder.display()))?;
        }
        let read = |file: &str| {
            let path = folder.join(file);
            fs::read_to_string(&path).with_context(|| {
                format!(
                    "cannot read {}: put it back from a backup, or move the folder {} away to make a new \
                     authority, which every tablet then has to trust",
                    path.display(),
                    folder.display()
                )
            })
        };
        let (certificate_pem, key_pem) = (read(CERTIFICATE)?, read(KEY)?);
        only_for_the_owner(&folder.join(KEY))?;
        let damaged = || format!("the practice authority in {} is damaged: restore it", folder.display());
        let key = KeyPair::from_pem(&key_pem).with_context(damaged)?;
        let certificate = CertificateDer::from_pem_slice(certificate_pem.as_bytes()).with_context(damaged)?;
        let issuer = Issuer::from_ca_cert_der(&certificate, key).with_context(damaged)?;
        Ok(Self { issuer, certificate })
    }

    /// The certificate that devices are asked to trust.
    pub fn certificate(&self) -> &CertificateDer<'static> {
        &self.certificate
    }

    /// What a person compares before trusting.
    pub fn fingerprint(&self) -> String {
        fingerprint(&self.certificate)
    }

    /// A fresh server certificate for these names and addresses.
    pub fn issue(&self, names: &[String], addresses: &[IpAddr], now: Timestamp) -> anyhow::Result<Leaf> {
        let mut params = CertificateParams::default();
        let localhost = "localhost".to_owned();
        for name in names.iter().chain([&localhost]) {
            params.subject_alt_names.push(SanType::DnsName(name.as_str().try_into()?));
        }
        params.subject_alt_names.extend(addresses.iter().copied().map(SanType::IpAddress));
        let first = names.first().map_or("localhost", String::as_str);
        params.distinguished_name.push(DnType::CommonName, first);
        (params.not_before, params.not_after) = life(now, LEAF_LIFE)?;
        params.key_usages = vec![KeyUsagePurpose::DigitalSignature];
        params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
        params.use_authority_key_identifier_extension = true;

        let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
        let certificate = params.signed_by(&key, &self.issuer)?;
        Ok(Leaf {
            chain: vec![certificate.der().clone(), self.certificate.clone()],
            key: PrivatePkcs8KeyDer::from(key.serialize_der()).into(),
            renew_at: now.checked_add(LEAF_LIFE / 3 * 2)?,
        })
    }
}

/// The SHA-256 fingerprint as devices show it: pairs of capital hex digits.
pub fn fingerprint(certificate: &CertificateDer<'_>) -> String {
    let pairs: Vec<String> = Sha256::digest(certificate).iter().map(|byte| format!("{byte:02X}")).collect();
    pairs.join(":")
}

/// The fingerprint of the authority in this data folder, for the printed sheet; `None` before the first start
/// beyond loopback.
pub fn known_fingerprint(data: &Path) -> Option<String> {
    let certificate = CertificateDer::from_pem_file(data.join(FOLDER).join(CERTIFICATE)).ok()?;
    Some(fingerprint(&certificate))
}

/// The names that the authority in this data folder was made for; none before the first start beyond loopback.
pub fn known_names(data: &Path) -> Vec<String> {
    CertificateDer::from_pem_file(data.join(FOLDER).join(CERTIFICATE))
        .map_or_else(|_| Vec::new(), |certificate| names_in(&certificate))
}

/// The names an authority speaks for besides those near every server, as its constraint says them. A `.local` form
/// is left out where the name it comes from is there too.
pub fn names_in(certificate: &CertificateDer<'_>) -> Vec<String> {
    let Ok((_, parsed)) = x509_parser::parse_x509_certificate(certificate) else { return Vec::new() };
    let constraint = parsed.name_constraints().ok().flatten();
    let permitted = constraint.and_then(|found| found.value.permitted_subtrees.as_ref());
    let names: Vec<String> = permitted
        .into_iter()
        .flatten()
        .filter_map(|tree| match tree.base {
            GeneralName::DNSName(name) if !NEAR.contains(&name) => Some(name.to_owned()),
            _ => None,
        })
        .collect();
    let is_local =
        |name: &str| name.rsplit('.').next().is_some_and(|last| last.eq_ignore_ascii_case("local"));
    let chosen: Vec<String> = names.iter().filter(|name| !is_local(name)).cloned().collect();
    if chosen.is_empty() { names } else { chosen }
}

/// Makes key and certificate in a folder of their own and moves it into place whole, so that a start cut
/// short leaves no half authority behind.
fn make(data: &Path, names: &[String], now: Timestamp) -> anyhow::Result<()> {
    let making = data.join("authority.new");
    if making.exists() {
        fs::remove_dir_all(&making)?;
    }
    fs::create_dir_all(&making)?;
    let key = KeyPair::generate_for(&PKCS_ECDSA_P256_SHA256)?;
    let certificate = authority_params(names, now)?.self_signed(&key)?;
    write_private(&making.join(KEY), &key.serialize_pem())?;
    write_private(&making.join(CERTIFICATE), &certificate.pem())?;
    fs::File::open(&making)?.sync_all()?;
    fs::rename(&making, data.join(FOLDER))?;
    fs::File::open(data)?.sync_all()?;
    Ok(())
}

fn authority_params(names: &[String], now: Timestamp) -> anyhow::Result<CertificateParams> {
    let mut params = CertificateParams::default();
    let first = names.first().map_or("localhost", String::as_str);
    params.distinguished_name.push(DnType::CommonName, format!("Limbledger practice authority ({first})"));
    (params.not_before, params.not_after) = life(now, AUTHORITY_LIFE)?;
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    let near = NEAR.map(str::to_owned);
    let mut permitted: Vec<GeneralSubtree> =
        near.iter().chain(names).cloned().map(GeneralSubtree::DnsName).collect();
    for (ip, prefix) in RANGES {
        permitted.push(GeneralSubtree::IpAddress(CidrSubnet::from_addr_prefix(ip.parse()?, prefix)));
    }
    params.name_constraints =
        Some(NameConstraints { permitted_subtrees: permitted, excluded_subtrees: Vec::new() });
    Ok(params)
}

fn life(now: Timestamp, whole: SignedDuration) -> anyhow::Result<(OffsetDateTime, OffsetDateTime)> {
    let from = now.checked_sub(EARLY)?;
    let until = from.checked_add(whole)?;
    Ok((
        OffsetDateTime::from_unix_timestamp(from.as_second())?,
        OffsetDateTime::from_unix_timestamp(until.as_second())?,
    ))
}

fn write_private(path: &Path, text: &str) -> std::io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

/// A key that came back from a copy may be readable by everyone; that ends here.
pub(super) fn only_for_the_owner(path: &Path) -> anyhow::Result<()> {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        if fs::metadata(path)?.permissions().mode() & 0o077 != 0 {
            tracing::warn!(file = %path.display(), "the key was readable by others; closed it");
            fs::set_permissions(path, fs::Permissions::from_mode(0o600))?;
        }
    }
    Ok(())
}
