//! A browser's side of HTTP, as far as the workbench asks for it.

use std::io;
use std::sync::Arc;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// A workbench that was started.
pub struct Bench {
    port: u16,
    pass: String,
}

impl Bench {
    /// By the address that it prints.
    pub fn at(address: &str) -> Option<Bench> {
        let (front, pass) = address.split_once("/enter?pass=")?;
        Some(Bench {
            port: front.rsplit(':').next()?.parse().ok()?,
            pass: pass.to_owned(),
        })
    }

    fn head(&self, request: &Request) -> String {
        let host = format!("127.0.0.1:{}", self.port);
        let cookie = format!("wattwright-{}={}", self.port, self.pass);
        match request {
            Request::Page(path) => {
                format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\n\r\n")
            }
            Request::Form(path, body) => format!(
                "POST {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\nOrigin: http://{host}\r\n\
                 Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
                body.len()
            ),
        }
    }
}

/// What is asked.
pub enum Request {
    Page(String),
    Form(String, String),
}

impl Request {
    pub fn page(path: String) -> Request {
        Request::Page(path)
    }

    pub fn form(path: String, body: String) -> Request {
        Request::Form(path, body)
    }

    pub fn writes(&self) -> bool {
        matches!(self, Request::Form(..))
    }

    /// The status that is right: a form leads to a page.
    pub fn wants(&self) -> u16 {
        if self.writes() { 303 } else { 200 }
    }

    pub fn path(&self) -> &str {
        match self {
            Request::Page(path) | Request::Form(path, _) => path,
        }
    }
}

/// What came back.
pub struct Answer {
    pub status: u16,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }
}

/// A connection that stays open from one request to the next.
pub struct Connection {
    bench: Arc<Bench>,
    stream: TcpStream,
    read: Vec<u8>,
}

impl Connection {
    pub async fn open(bench: Arc<Bench>) -> io::Result<Connection> {
        let stream = TcpStream::connect(("127.0.0.1", bench.port)).await?;
        stream.set_nodelay(true)?;
        Ok(Connection {
            bench,
            stream,
            read: Vec::new(),
        })
    }

    pub async fn get(&mut self, path: &str) -> io::Result<Answer> {
        self.send(&Request::page(path.to_owned())).await
    }

    pub async fn send(&mut self, request: &Request) -> io::Result<Answer> {
        let head = self.bench.head(request);
        self.stream.write_all(head.as_bytes()).await?;
        let end = loop {
            match self.read.windows(4).position(|it| it == b"\r\n\r\n") {
                Some(end) => break end,
                None => self.more().await?,
            }
        };
        let head = String::from_utf8_lossy(&self.read[..end]).to_ascii_lowercase();
        self.read.drain(..end + 4);
        let odd = || io::Error::from(io::ErrorKind::InvalidData);
        let status = head.split(' ').nth(1).and_then(|it| it.parse().ok());
        let length = head
            .lines()
            .find_map(|it| it.strip_prefix("content-length: "))
            .and_then(|it| it.parse::<usize>().ok())
            .ok_or_else(odd)?;
        while self.read.len() < length {
            self.more().await?;
        }
        Ok(Answer {
            status: status.ok_or_else(odd)?,
            body: self.read.drain(..length).collect(),
        })
    }

    async fn more(&mut self) -> io::Result<()> {
        match self.stream.read_buf(&mut self.read).await? {
            0 => Err(io::ErrorKind::UnexpectedEof.into()),
            _ => Ok(()),
        }
    }
}

/// A page that stands open and hears of changes, until it is ended.
pub async fn listen(bench: Arc<Bench>, path: String) -> io::Result<()> {
    let mut connection = Connection::open(bench).await?;
    let head = connection.bench.head(&Request::page(path));
    connection.stream.write_all(head.as_bytes()).await?;
    loop {
        connection.more().await?;
        connection.read.clear();
    }
}
