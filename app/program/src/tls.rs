//! The certificate pages are served under, and the cryptography both ways of TLS use here.
use std::path::Path;
use std::sync::Arc;

use rustls::ServerConfig;
use rustls::pki_types::pem::PemObject;
use rustls::pki_types::{CertificateDer, PrivateKeyDer};

use crate::trouble::{Explained, Trouble};

/// Chooses the provider of cryptography for the whole process: reqwest is built without one of its own.
pub fn choose_cryptography() {
    if rustls::crypto::ring::default_provider()
        .install_default()
        .is_err()
    {
        tracing::debug!("the provider of cryptography was chosen before");
    }
}

/// Reads a certificate chain and its key.
pub fn read(cert: &Path, key: &Path) -> Result<Arc<ServerConfig>, Trouble> {
    let advice = "name a PEM file with --cert and the key that belongs to it with --key.";
    let chain = CertificateDer::pem_file_iter(cert)
        .and_then(Iterator::collect::<Result<Vec<_>, _>>)
        .explained(
            &format!("The certificate {} cannot be read", cert.display()),
            advice,
        )?;
    let key = PrivateKeyDer::from_pem_file(key)
        .explained(&format!("The key {} cannot be read", key.display()), advice)?;
    ServerConfig::builder()
        .with_no_client_auth()
        .with_single_cert(chain, key)
        .map(Arc::new)
        .explained("Certificate and key do not fit together", advice)
}
