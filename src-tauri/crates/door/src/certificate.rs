use crate::DoorFault;
use chrono::{Datelike, Duration, NaiveDate, Utc};
use rcgen::{
    BasicConstraints, CertificateParams, DnType, ExtendedKeyUsagePurpose, IsCa, Issuer, KeyPair,
    KeyUsagePurpose,
};
use std::fs;
use std::io::Write;
use std::path::Path;

/// Longest life of a server certificate that phones accept, days (common practice, no source).
const LEAF_LIFE_D: i64 = 397;

/// What HTTPS needs: the chain and key of this door, and the authority for phones to trust.
pub(crate) struct Certificate {
    pub chain_pem: String,
    pub key_pem: String,
    pub authority_pem: String,
}

/// Makes a certificate for this computer's names, signed by the authority kept in a folder.
///
/// The authority is made at the first use and kept, so that phones trust it once; the
/// certificate is made anew at each start, so that it always names the present addresses.
pub(crate) fn certificate(folder: &Path, names: Vec<String>) -> Result<Certificate, DoorFault> {
    let failed = |error: rcgen::Error| DoorFault::Certificate(error.to_string());
    let file = |path: &Path| {
        let path = path.to_owned();
        move |why| DoorFault::File { path, why }
    };
    fs::create_dir_all(folder).map_err(file(folder))?;
    let (key_path, pem_path) = (folder.join("authority.key"), folder.join("authority.crt"));
    let params = authority().map_err(failed)?;
    let key = if key_path.exists() {
        let text = fs::read_to_string(&key_path).map_err(file(&key_path))?;
        KeyPair::from_pem(&text).map_err(failed)?
    } else {
        let key = KeyPair::generate().map_err(failed)?;
        let authority = params.self_signed(&key).map_err(failed)?;
        private(&key_path, &key.serialize_pem()).map_err(file(&key_path))?;
        fs::write(&pem_path, authority.pem()).map_err(file(&pem_path))?;
        key
    };
    let authority_pem = fs::read_to_string(&pem_path).map_err(file(&pem_path))?;
    let issuer = Issuer::new(params, key);
    let leaf_key = KeyPair::generate().map_err(failed)?;
    let leaf = leaf(names).and_then(|leaf| leaf.signed_by(&leaf_key, &issuer)).map_err(failed)?;
    Ok(Certificate {
        chain_pem: leaf.pem() + &authority_pem,
        key_pem: leaf_key.serialize_pem(),
        authority_pem,
    })
}

fn authority() -> Result<CertificateParams, rcgen::Error> {
    let mut params = CertificateParams::new(Vec::new())?;
    params.distinguished_name.push(DnType::CommonName, "Slotkeep door of this site");
    params.is_ca = IsCa::Ca(BasicConstraints::Constrained(0));
    params.key_usages = vec![KeyUsagePurpose::KeyCertSign, KeyUsagePurpose::CrlSign];
    params.not_before = rcgen::date_time_ymd(2026, 1, 1);
    params.not_after = rcgen::date_time_ymd(2046, 1, 1);
    Ok(params)
}

fn leaf(names: Vec<String>) -> Result<CertificateParams, rcgen::Error> {
    let day = |day: NaiveDate| {
        // Months and days are small numbers.
        rcgen::date_time_ymd(day.year(), day.month() as u8, day.day() as u8)
    };
    let today = Utc::now().date_naive();
    let mut params = CertificateParams::new(names)?;
    params.distinguished_name.push(DnType::CommonName, "Slotkeep");
    params.extended_key_usages = vec![ExtendedKeyUsagePurpose::ServerAuth];
    params.not_before = day(today - Duration::days(1));
    params.not_after = day(today + Duration::days(LEAF_LIFE_D - 1));
    Ok(params)
}

/// Writes a file that only its owner may read.
fn private(path: &Path, text: &str) -> std::io::Result<()> {
    let mut options = fs::OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)?.write_all(text.as_bytes())
}
