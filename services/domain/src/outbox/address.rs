//! Where a webhook may be: nowhere inside that a person outside could use it to reach.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
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
    #[error("must not be a loopback, link-local, metadata or other special address")]
    Special,
}

impl WebhookAddress {
    /// Reads an address as the client that will post to it reads it (WHATWG URL).
    ///
    /// # Errors
    /// [`AddressFault`].
    pub fn read(text: &str) -> Result<Self, AddressFault> {
        if text.len() > MOST || !text.chars().all(|c| c.is_ascii_graphic()) {
            return Err(AddressFault::NotAnAddress);
        }
        let url = Url::parse(text).map_err(|_| AddressFault::NotAnAddress)?;
        let host = url.host().ok_or(AddressFault::NotAnAddress)?;
        if !url.username().is_empty() || url.password().is_some() || url.fragment().is_some() {
            return Err(AddressFault::Extra);
        }
        let literal = match host {
            Host::Domain(_) => None,
            Host::Ipv4(ip) => Some(IpAddr::V4(ip)),
            Host::Ipv6(ip) => Some(IpAddr::V6(ip)),
        };
        let local = literal.is_some_and(|ip| ip.to_canonical().is_loopback());
        match url.scheme() {
            "https" => {}
            "http" if local => {}
            _ => return Err(AddressFault::Scheme),
        }
        if literal.is_some_and(|ip| !local && !may_be_reached(ip, false)) {
            return Err(AddressFault::Special);
        }
        Ok(Self(url))
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

    /// Whether it is on this machine, which a setting has to allow.
    #[must_use]
    pub fn is_local(&self) -> bool {
        match self.0.host() {
            Some(Host::Ipv4(ip)) => ip.is_loopback(),
            Some(Host::Ipv6(ip)) => IpAddr::V6(ip).to_canonical().is_loopback(),
            _ => false,
        }
    }
}

/// Whether a message may be sent to what a host's name leads to. Asked again at each attempt with
/// the address that is then connected to, because a name may lead elsewhere by then.
#[must_use]
pub fn may_be_reached(ip: IpAddr, local_allowed: bool) -> bool {
    match ip.to_canonical() {
        IpAddr::V4(ip) if ip.is_loopback() => local_allowed,
        IpAddr::V6(ip) if ip.is_loopback() => local_allowed,
        IpAddr::V4(ip) => usual_v4(ip),
        IpAddr::V6(ip) => usual_v6(ip),
    }
}

/// RFC 6890 lists the special ones; those of private networks stay usable, because a site's other
/// systems are there. 169.254.169.254 and 100.100.100.200 answer for clouds' metadata.
fn usual_v4(ip: Ipv4Addr) -> bool {
    let [first, second, ..] = ip.octets();
    let shared = first == 100 && (64..128).contains(&second);
    !(first == 0
        || ip.is_link_local()
        || ip.is_multicast()
        || ip.is_broadcast()
        || ip.is_documentation()
        || first >= 240
        || shared)
}

/// `fe80::/10` is link-local, `fd00:ec2::/32` answers for a cloud's metadata; `64:ff9b::/96` and
/// `2002::/16` hold an IPv4 address inside.
fn usual_v6(ip: Ipv6Addr) -> bool {
    let parts = ip.segments();
    let link_local = parts[0] & 0xffc0 == 0xfe80;
    let metadata = parts[0] == 0xfd00 && parts[1] == 0x0ec2;
    let holds_v4 = parts[0] == 0x2002 || (parts[0] == 0x0064 && parts[1] == 0xff9b);
    // ::a.b.c.d, the deprecated form.
    let compatible = parts[..6].iter().all(|part| *part == 0);
    !(ip.is_unspecified() || ip.is_multicast() || link_local || metadata || holds_v4 || compatible)
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
            ("ftp://hooks.example/", AddressFault::Scheme),
            ("file:///etc/passwd", AddressFault::NotAnAddress),
            ("https://a:b@hooks.example/", AddressFault::Extra),
            ("https://hooks.example/#x", AddressFault::Extra),
            ("https://169.254.169.254/latest", AddressFault::Special),
            ("https://[fe80::1]/", AddressFault::Special),
            ("https://[fd00:ec2::254]/", AddressFault::Special),
            ("https://[::ffff:169.254.169.254]/", AddressFault::Special),
            ("https://0.0.0.0/", AddressFault::Special),
            // WHATWG URL: a number is an IPv4 address.
            ("https://2852039166/", AddressFault::Special),
            ("https://0xa9.254.43518/", AddressFault::Special),
            ("hooks.example", AddressFault::NotAnAddress),
            ("https://hooks.example/ä", AddressFault::NotAnAddress),
        ];
        for (text, fault) in faults {
            assert_eq!(WebhookAddress::read(text), Err(fault), "{text}");
        }
    }

    #[test]
    fn what_a_name_leads_to_is_looked_at_too() {
        let reached = |ip: &str, local| may_be_reached(ip.parse().expect("an address"), local);
        assert!(reached("93.184.216.34", false) && reached("192.168.1.9", false));
        assert!(reached("2606:2800:220:1::1", false));
        assert!(reached("127.0.0.1", true) && !reached("127.0.0.1", false));
        assert!(!reached("::ffff:127.0.0.1", false));
        for ip in [
            "169.254.1.1",
            "224.0.0.1",
            "255.255.255.255",
            "0.0.0.0",
            "100.100.100.200",
            "::",
            "ff02::1",
            "64:ff9b::a9fe:a9fe",
            "2002:a9fe:a9fe::1",
            "::a9fe:a9fe",
            "fe80::1",
        ] {
            assert!(!reached(ip, true), "{ip}");
        }
    }
}
