package cli

import (
	"net"
	"slices"
	"testing"
)

func TestEveryAddressThatLeadsToTheNotebookIsNamed(t *testing.T) {
	// Of documentation, RFC 5737 and RFC 3849.
	own := []net.Addr{
		&net.IPNet{IP: net.ParseIP("127.0.0.1"), Mask: net.CIDRMask(8, 32)},
		&net.IPNet{IP: net.ParseIP("::1"), Mask: net.CIDRMask(128, 128)},
		&net.IPNet{IP: net.ParseIP("2001:db8::7"), Mask: net.CIDRMask(64, 128)},
		&net.IPNet{IP: net.ParseIP("fe80::1"), Mask: net.CIDRMask(64, 128)},
		&net.IPNet{IP: net.ParseIP("192.0.2.7"), Mask: net.CIDRMask(24, 32)},
	}
	for _, c := range []struct {
		at       net.IP
		open     string
		from     []string
		asked    string
		heardFor string
	}{
		{net.IPv4zero, "127.0.0.1:7410", []string{"http://192.0.2.7:7410/"}, "0.0.0.0:7410", "tcp4"},
		{net.IPv6zero, "127.0.0.1:7410", []string{"http://192.0.2.7:7410/", "http://[2001:db8::7]:7410/"}, "[::]:7410", "tcp"},
		{net.ParseIP("192.0.2.7"), "192.0.2.7:7410", nil, "192.0.2.7:7410", "tcp4"},
		{net.ParseIP("::1"), "[::1]:7410", nil, "[::1]:7410", "tcp"},
		{net.ParseIP("127.0.0.1"), "127.0.0.1:7410", nil, "localhost:7410", "tcp"},
	} {
		at := &net.TCPAddr{IP: c.at, Port: 7410}
		if got := reached(at); got != c.open {
			t.Errorf("%v is opened at %s, want %s", at, got, c.open)
		}
		if got := elsewhere(at, own); !slices.Equal(got, c.from) {
			t.Errorf("%v is reached from elsewhere at %q, want %q", at, got, c.from)
		}
		if got := networkOf(c.asked); got != c.heardFor {
			t.Errorf("%s is listened at in %s, want %s", c.asked, got, c.heardFor)
		}
	}
}
