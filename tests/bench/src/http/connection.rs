//! One kept-alive connection: requests go out as bytes, answers with a length come back.
//!
//! A full client would take as much of the processor as the service that is measured.

use anyhow::Context;
use std::net::SocketAddr;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

pub struct Connection {
    stream: TcpStream,
    received: Vec<u8>,
}

/// An answer, read whole.
pub struct Answer<'a> {
    pub status: u16,
    body: &'a [u8],
}

impl Answer<'_> {
    pub fn text(&self) -> String {
        String::from_utf8_lossy(self.body).into_owned()
    }

    /// Whether the body holds the text.
    pub fn says(&self, text: &str) -> bool {
        self.body
            .windows(text.len())
            .any(|part| part == text.as_bytes())
    }
}

impl Connection {
    pub async fn open(address: SocketAddr) -> anyhow::Result<Self> {
        let stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        Ok(Self {
            stream,
            received: Vec::with_capacity(4096),
        })
    }

    /// Sends a request and reads its answer.
    pub async fn ask(&mut self, request: &[u8]) -> anyhow::Result<Answer<'_>> {
        self.stream.write_all(request).await?;
        self.received.clear();
        let head = loop {
            self.more().await?;
            if let Some(end) = end_of_head(&self.received) {
                break end;
            }
        };
        let (status, length) = read_head(&self.received[..head])?;
        while self.received.len() < head + length {
            self.more().await?;
        }
        Ok(Answer {
            status,
            body: &self.received[head..head + length],
        })
    }

    async fn more(&mut self) -> anyhow::Result<()> {
        let read = self.stream.read_buf(&mut self.received).await?;
        anyhow::ensure!(read > 0, "the service closed the connection");
        Ok(())
    }
}

fn end_of_head(received: &[u8]) -> Option<usize> {
    let at = received.windows(4).position(|four| four == b"\r\n\r\n")?;
    Some(at + 4)
}

/// The status and the length of the body.
fn read_head(head: &[u8]) -> anyhow::Result<(u16, usize)> {
    let head = std::str::from_utf8(head)?;
    let status = head.get(9..12).context("no status line")?.parse()?;
    let length = head.lines().find_map(|line| {
        let (name, value) = line.split_once(':')?;
        name.eq_ignore_ascii_case("content-length").then_some(value)
    });
    Ok((
        status,
        length.map_or(Ok(0), |length| length.trim().parse())?,
    ))
}
