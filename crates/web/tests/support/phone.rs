//! A phone in the local network: speaks TLS, trusts only the certificate that the laptop keeps, sends what it likes.
#![allow(dead_code)]

use std::net::Ipv4Addr;
use std::sync::Arc;
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore, crypto};

use super::{Answer, Bench, answer_of, encoded, request};

/// One phone.
#[derive(Clone)]
pub struct Phone {
    connector: TlsConnector,
    pub address: Ipv4Addr,
    pub port: u16,
    /// Its cookie, as `name=value`.
    pub cookie: Option<String>,
}

impl Phone {
    /// One that was never here.
    pub fn new(bench: &Bench) -> Phone {
        let network = bench.opened.network.as_ref().expect("open to the network");
        let (address, port) = network
            .address
            .strip_prefix("https://")
            .and_then(|it| it.split_once(':'))
            .expect("an address over TLS");
        let kept = bench.data.with_extension("certificate.pem");
        let kept = CertificateDer::from_pem_file(kept).expect("a certificate");
        let mut roots = RootCertStore::empty();
        roots.add(kept).expect("taken");
        let ring = Arc::new(crypto::ring::default_provider());
        let config = ClientConfig::builder_with_provider(ring)
            .with_safe_default_protocol_versions()
            .expect("versions")
            .with_root_certificates(roots)
            .with_no_client_auth();
        Phone {
            connector: TlsConnector::from(Arc::new(config)),
            address: address.parse().expect("an address"),
            port: port.parse().expect("a port"),
            cookie: None,
        }
    }

    pub fn host(&self) -> String {
        format!("{}:{}", self.address, self.port)
    }

    /// A connection whose certificate was checked against the address.
    pub async fn connect(&self) -> std::io::Result<TlsStream<TcpStream>> {
        let stream = TcpStream::connect((self.address, self.port)).await?;
        let name = ServerName::from(std::net::IpAddr::from(self.address));
        self.connector.connect(name, stream).await
    }

    /// Sends bytes as they are.
    pub async fn raw(&self, request: &[u8]) -> Option<Answer> {
        let mut stream = self.connect().await.ok()?;
        let _ = stream.write_all(request).await; // a server that refuses early may close before all is written
        let mut all = Vec::new();
        let _ = tokio::time::timeout(Duration::from_secs(60), stream.read_to_end(&mut all)).await;
        answer_of(&all)
    }

    pub async fn send(
        &self,
        method: &str,
        path: &str,
        headers: &[(&str, &str)],
        body: &[u8],
    ) -> Option<Answer> {
        self.raw(&request(method, path, headers, body)).await
    }

    pub async fn get(&self, path: &str) -> Answer {
        let host = self.host();
        let mut headers = vec![("Host", host.as_str())];
        headers.extend(self.cookie.as_deref().map(|it| ("Cookie", it)));
        self.send("GET", path, &headers, b"")
            .await
            .expect("an answer")
    }

    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let host = self.host();
        let origin = format!("https://{host}");
        let mut headers = vec![
            ("Host", host.as_str()),
            ("Origin", &origin),
            ("Content-Type", "application/x-www-form-urlencoded"),
        ];
        headers.extend(self.cookie.as_deref().map(|it| ("Cookie", it)));
        self.send("POST", path, &headers, encoded(fields).as_bytes())
            .await
            .expect("an answer")
    }

    /// Types a code and a name; keeps the cookie that it is given.
    pub async fn pair(&mut self, code: &str, name: &str) -> Answer {
        let answer = self.post("/pair", &[("code", code), ("name", name)]).await;
        if let Some(cookie) = answer.header("set-cookie") {
            self.cookie = cookie.split(';').next().map(str::to_owned);
        }
        answer
    }
}

/// A code that the laptop shows, as its page has it.
pub async fn code(bench: &Bench) -> String {
    assert_eq!(
        bench.post("/phones/code", &[("key", "x")]).await.status,
        303
    );
    let page = bench.get("/phones").await.text();
    let at = page
        .find("digits\">")
        .unwrap_or_else(|| panic!("no code: {page}"));
    page[at + 8..at + 17].replace(' ', "")
}
