//! The certificate for the local network: made here, kept beside the data, renewed when it runs out or the addresses change.

use std::fs;
use std::io::{self, Write};
use std::net::Ipv4Addr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;
use jiff::{ToSpan, tz::TimeZone};
use rcgen::{CertificateParams, DnType, KeyPair};
use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};
use sha2::{Digest, Sha256};

use crate::desk::Outside;

/// Good for a year, and renewed in its last two weeks.
const DAYS: i64 = 365;
const LAST_DAYS: i64 = 14;

/// A certificate with its key.
pub struct Certificate {
    der: CertificateDer<'static>,
    key: PrivateKeyDer<'static>,
}

/// Where certificate and key of a data file stand.
pub fn files(data: &Path) -> (PathBuf, PathBuf) {
    (
        data.with_extension("certificate.pem"),
        data.with_extension("key.pem"),
    )
}

impl Certificate {
    /// The one that is kept if it still holds, else a new one.
    pub fn beside(
        data: &Path,
        addresses: &[Ipv4Addr],
        outside: Outside,
    ) -> io::Result<Certificate> {
        let (certificate, key) = files(data);
        let today = TimeZone::UTC.to_datetime((outside.now)()).date();
        let until = today.saturating_add(DAYS.days());
        if let Some(kept) = kept(&certificate, &key, addresses, today) {
            return Ok(kept);
        }
        let (text, key_text) = made(addresses, today, until).map_err(io::Error::other)?;
        // the explanation before a certificate is left out by whoever reads it: RFC 7468, section 2
        let head = format!("{}\n", head(addresses, until));
        write(&key, &key_text)?;
        write(&certificate, &(head + &text))?;
        read(&text, &key_text).ok_or_else(|| io::Error::other("what was made does not read"))
    }

    /// SHA-256 over the certificate, as browsers show it.
    pub fn fingerprint(&self) -> String {
        let digest = Sha256::digest(&self.der);
        let pairs: Vec<String> = digest.iter().map(|it| format!("{it:02X}")).collect();
        pairs.join(":")
    }

    /// What a TLS server needs; HTTP/1.1 only, so that every request has a Host.
    pub fn config(self) -> Result<Arc<ServerConfig>, rustls::Error> {
        let ring = Arc::new(rustls::crypto::ring::default_provider());
        let mut config = ServerConfig::builder_with_provider(ring)
            .with_safe_default_protocol_versions()?
            .with_no_client_auth()
            .with_single_cert(vec![self.der], self.key)?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Arc::new(config))
    }
}

fn head(addresses: &[Ipv4Addr], until: Date) -> String {
    let mut sorted = addresses.to_vec();
    sorted.sort_unstable();
    let names: Vec<String> = sorted.iter().map(ToString::to_string).collect();
    format!(
        "Wattwright, for phones in the local network\nUntil: {until}\nAddresses: {}",
        names.join(" ")
    )
}

/// What is kept, where it is for these addresses, not about to run out, and nobody else could read the key.
fn kept(
    certificate: &Path,
    key: &Path,
    addresses: &[Ipv4Addr],
    today: Date,
) -> Option<Certificate> {
    let text = fs::read_to_string(certificate).ok()?;
    let until: Date = text
        .lines()
        .find_map(|it| it.strip_prefix("Until: "))?
        .parse()
        .ok()?;
    let days_left = today.until(until).ok()?.get_days();
    let fits = text.starts_with(&format!("{}\n", head(addresses, until)));
    // one that is good for longer than any that is made here was made when the clock was wrong
    let in_time = (LAST_DAYS..=DAYS).contains(&i64::from(days_left));
    (fits && in_time && is_private(key))
        .then(|| read(&text, &fs::read_to_string(key).ok()?))
        .flatten()
}

fn read(certificate: &str, key: &str) -> Option<Certificate> {
    let der = CertificateDer::from_pem_slice(certificate.as_bytes()).ok()?;
    let key = PrivateKeyDer::from_pem_slice(key.as_bytes()).ok()?;
    let one = Certificate {
        der: der.clone(),
        key: key.clone_key(),
    };
    // a key of another certificate is found out here
    one.config().ok()?;
    Some(Certificate { der, key })
}

/// Certificate and key as text.
fn made(
    addresses: &[Ipv4Addr],
    today: Date,
    until: Date,
) -> Result<(String, String), rcgen::Error> {
    let names: Vec<String> = addresses.iter().map(ToString::to_string).collect();
    let mut params = CertificateParams::new(names)?;
    params.distinguished_name = rcgen::DistinguishedName::new();
    params
        .distinguished_name
        .push(DnType::CommonName, "Wattwright on this laptop");
    let day = |it: Date| rcgen::date_time_ymd(it.year().into(), it.month() as u8, it.day() as u8);
    params.not_before = day(today.saturating_sub(1.day())); // a phone's clock may be behind
    params.not_after = day(until);
    let key = KeyPair::generate()?;
    Ok((params.self_signed(&key)?.pem(), key.serialize_pem()))
}

/// Whole or not at all, and for nobody but the owner to read.
fn write(path: &Path, text: &str) -> io::Result<()> {
    let part = path.with_extension("part");
    let _ = fs::remove_file(&part); // of a start that was cut off
    let mut options = fs::File::options();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&part)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()?;
    fs::rename(&part, path)
}

fn is_private(path: &Path) -> bool {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        fs::metadata(path).is_ok_and(|it| it.permissions().mode() & 0o077 == 0)
    }
    #[cfg(not(unix))]
    path.exists() // the person's own folder there
}

#[cfg(test)]
mod tests {
    use super::*;

    fn outside(now: fn() -> jiff::Timestamp) -> Outside {
        Outside {
            now,
            ..crate::serve::outside()
        }
    }

    fn now() -> jiff::Timestamp {
        jiff::Timestamp::from_second(1_700_000_000).expect("a time")
    }
    fn nearly_a_year_later() -> jiff::Timestamp {
        jiff::Timestamp::from_second(1_700_000_000 + 352 * 86_400).expect("a time")
    }

    const ONE: Ipv4Addr = Ipv4Addr::new(192, 168, 7, 5);
    const OTHER: Ipv4Addr = Ipv4Addr::new(10, 0, 0, 3);

    #[test]
    fn it_is_kept_and_renewed_when_it_runs_out_or_the_addresses_change() {
        let folder = tempfile::tempdir().expect("a folder");
        let data = folder.path().join("x.db");
        let print = |addresses: &[Ipv4Addr], clock| {
            Certificate::beside(&data, addresses, outside(clock))
                .expect("a certificate")
                .fingerprint()
        };
        let first = print(&[ONE, OTHER], now);
        assert_eq!(first.len(), 32 * 3 - 1);
        assert_eq!(
            print(&[OTHER, ONE], now),
            first,
            "the order of addresses does not matter"
        );
        let moved = print(&[ONE], now);
        assert_ne!(moved, first);
        assert_eq!(print(&[ONE], now), moved);
        let later = print(&[ONE], nearly_a_year_later);
        assert_ne!(later, moved, "13 days were left");
        assert_eq!(print(&[ONE], nearly_a_year_later), later);
        assert_ne!(print(&[ONE], now), later, "made when the clock was wrong");
    }

    #[cfg(unix)]
    #[test]
    fn the_key_is_for_its_owner_and_one_that_others_could_read_is_not_used_again() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().expect("a folder");
        let data = folder.path().join("x.db");
        let beside = || {
            Certificate::beside(&data, &[ONE], outside(now))
                .expect("a certificate")
                .fingerprint()
        };
        let first = beside();
        let key = files(&data).1;
        assert_eq!(
            fs::metadata(&key).expect("kept").permissions().mode() & 0o777,
            0o600
        );
        fs::set_permissions(&key, fs::Permissions::from_mode(0o644)).expect("set");
        let second = beside();
        assert_ne!(second, first);
        // of another certificate, or nothing at all
        let other = folder.path().join("y.db");
        Certificate::beside(&other, &[ONE], outside(now)).expect("a certificate");
        fs::copy(files(&other).1, &key).expect("copied");
        let third = beside();
        assert_ne!(third, second);
        fs::write(&key, "nothing").expect("written");
        assert_ne!(beside(), third);
    }
}
