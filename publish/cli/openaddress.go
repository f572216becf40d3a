package cli

import (
	"net"
	"net/netip"
	"slices"
	"strings"
)

// networkOf is the network to listen in: an address of IPv4 asks for IPv4 alone, also
// the one that stands for all of a machine's.
func networkOf(address string) string {
	host, _, err := net.SplitHostPort(address)
	if ip, bad := netip.ParseAddr(host); err == nil && bad == nil && ip.Is4() {
		return "tcp4"
	}
	return "tcp"
}

// reached is an address to open: where the program listens at all of a machine's
// addresses, the loopback is one that leads there.
func reached(at net.Addr) string {
	if _, port, all := wildcard(at); all {
		return net.JoinHostPort("127.0.0.1", port)
	}
	return at.String()
}

// wildcard reports whether an address stands for all of a machine's.
func wildcard(at net.Addr) (ip netip.Addr, port string, is bool) {
	host, port, err := net.SplitHostPort(at.String())
	if err != nil {
		return ip, port, false
	}
	ip, err = netip.ParseAddr(host)
	return ip, port, err == nil && ip.IsUnspecified()
}

// elsewhere are the addresses by which other machines reach one that listens at all of
// its own, in a fixed order; none where it listens at one, which says so itself.
func elsewhere(at net.Addr, own []net.Addr) (all []string) {
	listens, port, is := wildcard(at)
	if !is {
		return nil
	}
	for _, a := range own {
		network, err := netip.ParsePrefix(a.String())
		if err != nil {
			continue
		}
		ip := network.Addr()
		if ip.IsGlobalUnicast() && (ip.Is4() || !listens.Is4()) {
			all = append(all, "http://"+net.JoinHostPort(ip.String(), port)+"/")
		}
	}
	// IPv4 first: it is what one reads out across a room.
	slices.SortFunc(all, func(a, b string) int {
		if x, y := strings.Contains(a, "["), strings.Contains(b, "["); x != y {
			if x {
				return 1
			}
			return -1
		}
		return strings.Compare(a, b)
	})
	return all
}
