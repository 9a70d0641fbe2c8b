//! Where a webhook may be: nowhere inside that a person outside could use it to reach.

use super::networks::Networks;
use std::net::IpAddr;
use url::{Host, Url};

/// Characters of an address at most.
const MOST: usize = 500;

/// An address that messages may be posted to: `https`, or `http` to this machine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WebhookAddress(Url);

/// Why an address is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddressFault {
    /// It cannot be read.
    #[error("must be a web address of at most {MOST} characters")]
    NotAnAddress,
    /// It is neither `https` nor `http` to this machine.
    #[error("must begin with https://, or be http to a loopback address")]
    Scheme,
    /// It holds a name, a password or a fragment.
    #[error("must not hold a name, a password or a fragment")]
    Extra,
    /// Its address is one that no message is sent to.
    #[error(
        "must not be an address that only this machine or a private network has, unless the setting webhook_networks names its network"
    )]
    Inside,
}

impl WebhookAddress {
    /// Reads an address as the client that will post to it reads it (WHATWG URL).
    ///
    /// # Errors
    /// [`AddressFault`], but [`AddressFault::Inside`].
    pub fn read(text: &str) -> Result<Self, AddressFault> {
        if text.len() > MOST || !text.chars().all(|c| c.is_ascii_graphic()) {
            return Err(AddressFault::NotAnAddress);
        }
        let url = Url::parse(text).map_err(|_| AddressFault::NotAnAddress)?;
        url.host().ok_or(AddressFault::NotAnAddress)?;
        if !url.username().is_empty() || url.password().is_some() || url.fragment().is_some() {
            return Err(AddressFault::Extra);
        }
        let address = Self(url);
        let local = address.literal();
        let local = local.is_some_and(|ip| ip.to_canonical().is_loopback());
        match address.0.scheme() {
            "https" => Ok(address),
            "http" if local => Ok(address),
            _ => Err(AddressFault::Scheme),
        }
    }

    /// Whether a message may go to the address that is written; what a name leads to is looked at
    /// when something is sent.
    ///
    /// # Errors
    /// [`AddressFault::Inside`].
    pub fn check(&self, opened: &Networks) -> Result<(), AddressFault> {
        match self.literal() {
            Some(ip) if !opened.may_reach(ip) => Err(AddressFault::Inside),
            _ => Ok(()),
        }
    }

    /// As it is kept and shown.
    #[must_use]
    pub fn as_str(&self) -> &str {
        self.0.as_str()
    }

    /// The host and port to look up.
    #[must_use]
    pub fn host(&self) -> (String, u16) {
        let host = self.0.host_str().unwrap_or_default();
        let port = self.0.port_or_known_default().unwrap_or(443);
        (host.trim_matches(['[', ']']).to_owned(), port)
    }

    fn literal(&self) -> Option<IpAddr> {
        match self.0.host()? {
            Host::Domain(_) => None,
            Host::Ipv4(ip) => Some(IpAddr::V4(ip)),
            Host::Ipv6(ip) => Some(IpAddr::V6(ip)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_address_is_https_or_http_to_this_machine() {
        for good in [
            "https://hooks.example/in?site=1",
            "https://10.1.2.3:8443/",
            "http://127.0.0.1:9/x",
            "http://[::1]:9/x",
        ] {
            assert!(WebhookAddress::read(good).is_ok(), "{good}");
        }
        let faults = [
            ("http://hooks.example/in", AddressFault::Scheme),
            ("http://localhost/", AddressFault::Scheme),
            ("http://10.1.2.3/", AddressFault::Scheme),
            ("ftp://hooks.example/", AddressFault::Scheme),
            ("file:///etc/passwd", AddressFault::NotAnAddress),
            ("https://a:b@hooks.example/", AddressFault::Extra),
            ("https://hooks.example/#x", AddressFault::Extra),
            ("hooks.example", AddressFault::NotAnAddress),
            ("https://hooks.example/ä", AddressFault::NotAnAddress),
        ];
        for (text, fault) in faults {
            assert_eq!(WebhookAddress::read(text), Err(fault), "{text}");
        }
    }

    #[test]
    fn a_written_address_inside_needs_the_setting() {
        let check = |text: &str, opened: &str| {
            let opened = opened.parse().expect("networks");
            WebhookAddress::read(text)
                .expect("an address")
                .check(&opened)
        };
        for text in [
            "http://127.0.0.1:9/x",
            "https://10.1.2.3/",
            "https://169.254.169.254/latest",
            "https://[fe80::1]/",
            "https://[fd00:ec2::254]/",
            "https://[::ffff:169.254.169.254]/",
            "https://0.0.0.0/",
            // WHATWG URL: a number is an IPv4 address.
            "https://2852039166/",
            "https://0xa9.254.43518/",
        ] {
            assert_eq!(check(text, ""), Err(AddressFault::Inside), "{text}");
        }
        assert_eq!(check("https://10.1.2.3/", "10.1.0.0/16"), Ok(()));
        assert_eq!(check("http://[::1]/", "127.0.0.0/8, ::1/128"), Ok(()));
        assert_eq!(check("https://hooks.example/", ""), Ok(()));
    }
}
