//! Which addresses of the internet protocol a message may be sent to.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr};
use std::str::FromStr;

/// Networks that messages may be sent to though not everybody reaches them: those of a site's own
/// systems. Read from text such as `10.20.0.0/16, fd12:3456::/32`; an empty text is none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Networks(Vec<Network>);

/// The text is no list of networks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("must be networks such as 10.20.0.0/16, with commas between them")]
pub struct NotNetworks;

/// An address and how many of its first bits count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Network(IpAddr, u8);

impl Network {
    const fn v4(a: u8, b: u8, c: u8, d: u8, bits: u8) -> Self {
        Self(IpAddr::V4(Ipv4Addr::new(a, b, c, d)), bits)
    }

    /// By the first four parts.
    const fn v6(a: u16, b: u16, c: u16, d: u16, bits: u8) -> Self {
        Self(IpAddr::V6(Ipv6Addr::new(a, b, c, d, 0, 0, 0, 0)), bits)
    }

    fn holds(&self, ip: IpAddr) -> bool {
        let (network, ip, width) = match (self.0, ip) {
            (IpAddr::V4(network), IpAddr::V4(ip)) => {
                (u128::from(network.to_bits()), ip.to_bits().into(), 32)
            }
            (IpAddr::V6(network), IpAddr::V6(ip)) => (network.to_bits(), ip.to_bits(), 128),
            _ => return false,
        };
        let differ: u128 = network ^ ip;
        differ
            .checked_shr(width - u32::from(self.1))
            .is_none_or(|differ| differ == 0)
    }
}

impl FromStr for Network {
    type Err = NotNetworks;

    fn from_str(text: &str) -> Result<Self, NotNetworks> {
        let (ip, bits) = text.split_once('/').ok_or(NotNetworks)?;
        let ip: IpAddr = ip.parse().map_err(|_| NotNetworks)?;
        let bits: u8 = bits.parse().map_err(|_| NotNetworks)?;
        let most = if ip.is_ipv4() { 32 } else { 128 };
        if bits > most {
            return Err(NotNetworks);
        }
        Ok(Self(ip, bits))
    }
}

impl FromStr for Networks {
    type Err = NotNetworks;

    fn from_str(text: &str) -> Result<Self, NotNetworks> {
        let parts = text.split(',').map(str::trim);
        let parts = parts.filter(|part| !part.is_empty());
        parts.map(str::parse).collect::<Result<_, _>>().map(Self)
    }
}

impl Networks {
    /// Whether a message may be sent to an address: one that everybody reaches, or one of these
    /// networks. Asked at each attempt with the address that is then connected to, because a name
    /// may lead elsewhere by then.
    #[must_use]
    pub fn may_reach(&self, ip: IpAddr) -> bool {
        let ip = ip.to_canonical();
        let inside = |network: &Network| network.holds(ip);
        self.0.iter().any(inside) || (ALLOCATED.iter().any(inside) && !SPECIAL.iter().any(inside))
    }
}

/// Unicast addresses: IPv4 without multicast and reserved ones (RFC 5771, RFC 1112), and `2000::/3`,
/// which is all that IANA gives out of IPv6: link-local, unique local and the blocks that hold IPv4
/// addresses (`64:ff9b::/96`, RFC 6052) are outside.
const ALLOCATED: [Network; 4] = [
    Network::v4(0, 0, 0, 0, 1),
    Network::v4(128, 0, 0, 0, 2),
    Network::v4(192, 0, 0, 0, 3),
    Network::v6(0x2000, 0, 0, 0, 3),
];

/// What is not globally reachable of these: IANA's special-purpose address registries (RFC 6890),
/// those marked false and those marked neither way. 169.254.169.254 and 100.100.100.200, which
/// answer for clouds' metadata, are among them.
const SPECIAL: [Network; 17] = [
    // "This network", RFC 791.
    Network::v4(0, 0, 0, 0, 8),
    // Private use, RFC 1918.
    Network::v4(10, 0, 0, 0, 8),
    Network::v4(172, 16, 0, 0, 12),
    Network::v4(192, 168, 0, 0, 16),
    // Shared address space, RFC 6598.
    Network::v4(100, 64, 0, 0, 10),
    // Loopback, RFC 1122.
    Network::v4(127, 0, 0, 0, 8),
    // Link local, RFC 3927.
    Network::v4(169, 254, 0, 0, 16),
    // IETF protocol assignments, RFC 6890; the two anycast addresses in it answer no webhook.
    Network::v4(192, 0, 0, 0, 24),
    // Documentation, RFC 5737.
    Network::v4(192, 0, 2, 0, 24),
    Network::v4(198, 51, 100, 0, 24),
    Network::v4(203, 0, 113, 0, 24),
    // 6to4 relays, deprecated by RFC 7526.
    Network::v4(192, 88, 99, 0, 24),
    // Benchmarking, RFC 2544.
    Network::v4(198, 18, 0, 0, 15),
    // IETF protocol assignments, RFC 2928: Teredo, benchmarking, ORCHID and anycast.
    Network::v6(0x2001, 0, 0, 0, 23),
    // Documentation, RFC 3849 and RFC 9637.
    Network::v6(0x2001, 0xdb8, 0, 0, 32),
    Network::v6(0x3fff, 0, 0, 0, 20),
    // 6to4, RFC 3056: holds an IPv4 address.
    Network::v6(0x2002, 0, 0, 0, 16),
];

#[cfg(test)]
mod tests {
    use super::*;

    fn reached(ip: &str, opened: &str) -> bool {
        let opened: Networks = opened.parse().expect("networks");
        opened.may_reach(ip.parse().expect("an address"))
    }

    // The first and the last address of each block of IANA's IPv4 and IPv6 special-purpose address
    // registries that is not marked as globally reachable (from memory, the state of 2025).
    #[test]
    fn no_address_of_the_special_purpose_registries_is_reached() {
        let blocks = [
            ("0.0.0.0", "0.255.255.255"),
            ("10.0.0.0", "10.255.255.255"),
            ("100.64.0.0", "100.127.255.255"),
            ("127.0.0.0", "127.255.255.255"),
            ("169.254.0.0", "169.254.255.255"),
            ("172.16.0.0", "172.31.255.255"),
            ("192.0.0.0", "192.0.0.255"),
            ("192.0.2.0", "192.0.2.255"),
            ("192.88.99.0", "192.88.99.255"),
            ("192.168.0.0", "192.168.255.255"),
            ("198.18.0.0", "198.19.255.255"),
            ("198.51.100.0", "198.51.100.255"),
            ("203.0.113.0", "203.0.113.255"),
            ("240.0.0.0", "255.255.255.255"),
            ("::", "::1"),
            ("::ffff:10.0.0.0", "::ffff:10.255.255.255"),
            ("::ffff:127.0.0.1", "::ffff:169.254.169.254"),
            ("64:ff9b::", "64:ff9b::ffff:ffff"),
            ("64:ff9b:1::", "64:ff9b:1:ffff:ffff:ffff:ffff:ffff"),
            ("100::", "100::ffff:ffff:ffff:ffff"),
            ("100:0:0:1::", "100:0:0:1:ffff:ffff:ffff:ffff"),
            ("2001::", "2001:1ff:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("2001:db8::", "2001:db8:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("2002::", "2002:ffff:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("3fff::", "3fff:fff:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("5f00::", "5f00:ffff:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("fc00::", "fdff:ffff:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("fe80::", "febf:ffff:ffff:ffff:ffff:ffff:ffff:ffff"),
            // Not in these registries: multicast, the deprecated site-local and compatible forms.
            ("224.0.0.0", "239.255.255.255"),
            ("ff00::", "ffff:ffff:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("fec0::", "feff:ffff:ffff:ffff:ffff:ffff:ffff:ffff"),
            ("::a9fe:a9fe", "::7f00:1"),
        ];
        for (first, last) in blocks {
            assert!(!reached(first, ""), "{first}");
            assert!(!reached(last, ""), "{last}");
        }
    }

    // The addresses beside those blocks, and those that the registries mark as globally reachable.
    #[test]
    fn the_addresses_beside_them_are_reached() {
        for ip in [
            "1.0.0.0",
            "9.255.255.255",
            "11.0.0.0",
            "100.63.255.255",
            "100.128.0.0",
            "126.255.255.255",
            "128.0.0.0",
            "172.15.255.255",
            "172.32.0.0",
            "192.0.1.0",
            "192.31.196.1",
            "192.52.193.1",
            "192.175.48.1",
            "198.17.255.255",
            "198.20.0.0",
            "223.255.255.255",
            "2001:200::",
            "2001:4860:4860::8888",
            "2620:4f:8000::1",
            "2003::1",
            "3fff:1000::",
            "::ffff:1.1.1.1",
        ] {
            assert!(reached(ip, ""), "{ip}");
        }
    }

    #[test]
    fn a_site_opens_networks_of_its_own_and_no_others() {
        let opened = "10.20.0.0/16, fd12:3456::/32,127.0.0.0/8";
        for ip in [
            "10.20.255.1",
            "fd12:3456::9",
            "127.0.0.1",
            "::ffff:10.20.0.1",
        ] {
            assert!(reached(ip, opened), "{ip}");
        }
        for ip in ["10.21.0.1", "fd12:3457::9", "::1", "169.254.169.254"] {
            assert!(!reached(ip, opened), "{ip}");
        }
        for bad in ["10.20.0.0", "10.20.0.0/33", "host/8", "::/129", "10/8"] {
            assert_eq!(bad.parse::<Networks>(), Err(NotNetworks), "{bad}");
        }
        assert!(reached("10.1.1.1", "0.0.0.0/0") && reached("fe80::1", "::/0"));
    }
}
