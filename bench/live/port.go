package live

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strings"
	"time"

	"go.bug.st/serial"
)

// Port says where an instrument is: at a TCP address or at a serial port.
type Port struct {
	TCP    string `json:"tcp,omitempty"`    // host:port
	Serial string `json:"serial,omitempty"` // such as /dev/ttyUSB0 or COM3
	// Of a serial port; what is left out is 9600 baud, 8 bits, no parity, 1 stop bit.
	Baud     int     `json:"baud,omitempty"`
	DataBits int     `json:"data_bits,omitempty"`
	Parity   string  `json:"parity,omitempty"`    // none, odd, even, mark or space
	StopBits float64 `json:"stop_bits,omitempty"` // 1, 1.5 or 2
}

var (
	parities = []string{"none", "odd", "even", "mark", "space"} // in the order of serial.Parity
	stopBits = []float64{1, 1.5, 2}                             // in the order of serial.StopBits
)

func (p *Port) check() error {
	switch {
	case (p.TCP == "") == (p.Serial == ""):
		return errors.New("an instrument is at either a TCP address or a serial port: give one of them")
	case p.TCP != "":
		if _, _, err := net.SplitHostPort(p.TCP); err != nil {
			return fmt.Errorf("%q is no address: write host:port, such as 192.168.1.20:5025", p.TCP)
		}
		return nil
	case p.Baud < 0:
		return fmt.Errorf("%d baud is no rate", p.Baud)
	case p.DataBits != 0 && (p.DataBits < 5 || p.DataBits > 8):
		return fmt.Errorf("%d data bits: 5 to 8 are possible", p.DataBits)
	case p.Parity != "" && !slices.Contains(parities, p.Parity):
		return fmt.Errorf("the parity %q is not one of %s", p.Parity, strings.Join(parities, ", "))
	case p.StopBits != 0 && !slices.Contains(stopBits, p.StopBits):
		return fmt.Errorf("%g stop bits: 1, 1.5 and 2 are possible", p.StopBits)
	}
	return nil
}

func (p *Port) String() string {
	if p.TCP != "" {
		return p.TCP
	}
	return p.Serial
}

const dialTimeout = 5 * time.Second

func (p *Port) open(ctx context.Context) (io.ReadWriteCloser, error) {
	if p.TCP != "" {
		d := net.Dialer{Timeout: dialTimeout}
		return d.DialContext(ctx, "tcp", p.TCP)
	}
	m := serial.Mode{
		BaudRate: p.Baud, DataBits: p.DataBits,
		Parity:   serial.Parity(max(slices.Index(parities, p.Parity), 0)),
		StopBits: serial.StopBits(max(slices.Index(stopBits, p.StopBits), 0)),
	}
	if m.BaudRate == 0 {
		m.BaudRate = 9600
	}
	if m.DataBits == 0 {
		m.DataBits = 8
	}
	port, err := serial.Open(p.Serial, &m)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", p.Serial, err)
	}
	return port, nil
}

// mostLine is how long a line of an instrument may be, in bytes.
const mostLine = 64 << 10

// line is what came up to a line's end.
type line struct {
	text string
	at   time.Time
	cut  bool // no end came for mostLine bytes
}

// link is an open port whose lines are read as they come.
type link struct {
	port  io.ReadWriteCloser
	lines chan line // closed when the port fails
	err   error     // why; read after lines is closed
	ended chan struct{}
}

// newLink reads lines until the port fails or is closed. An end of 0 takes a line
// feed, and drops a carriage return before it.
func newLink(port io.ReadWriteCloser, end byte, most int, now func() time.Time) *link {
	l := &link{port: port, lines: make(chan line, 1024), ended: make(chan struct{})}
	if end == 0 {
		end = '\n'
	}
	go func() {
		defer close(l.lines)
		chunk := make([]byte, 4096)
		var held []byte
		send := func(text []byte, cut bool) bool {
			select {
			case l.lines <- line{strings.TrimSuffix(string(text), "\r"), now(), cut}:
				return true
			case <-l.ended:
				return false
			}
		}
		for {
			n, err := port.Read(chunk)
			for _, b := range chunk[:n] {
				if b == end {
					if !send(held, false) {
						return
					}
					held = held[:0]
					continue
				}
				if held = append(held, b); len(held) == most {
					if !send(held, true) {
						return
					}
					held = held[:0]
				}
			}
			if err == nil && n == 0 {
				err = io.EOF // a serial port without a timeout does this when it goes away
			}
			if err != nil {
				if len(held) > 0 {
					send(held, true)
				}
				l.err = err
				return
			}
		}
	}()
	return l
}

// close closes the port and lets the reader end.
func (l *link) close() {
	close(l.ended)
	l.port.Close()
	for range l.lines {
		// Nobody wants these any more; the reader ends.
	}
}

// gone says in a sentence why there are no more lines.
func (l *link) gone() error {
	if l.err == nil || errors.Is(l.err, io.EOF) {
		return errors.New("the instrument closed the connection")
	}
	return fmt.Errorf("the connection broke: %w", l.err)
}

// The waits before a port is tried again.
const (
	firstWait = 500 * time.Millisecond
	mostWait  = 30 * time.Second
	longTalk  = 10 * time.Second // after one as long as this the waits begin anew
)

// stay keeps a port open for as long as the context lasts, and talks to what is
// there.
func (p *Port) stay(ctx context.Context, d *Desk, end byte, most int, talk func(context.Context, *link) error) error {
	wait := firstWait
	for ctx.Err() == nil {
		began := time.Now()
		port, err := p.open(ctx)
		if err == nil {
			d.Connected(true)
			l := newLink(port, end, most, d.Now)
			// A write that a meter does not take ends with the context.
			stop := context.AfterFunc(ctx, func() { port.Close() })
			err = talk(ctx, l)
			stop()
			l.close()
			if ctx.Err() != nil {
				break
			}
			d.Connected(false)
		}
		if ctx.Err() != nil {
			break
		}
		if time.Since(began) > longTalk {
			wait = firstWait
		}
		d.Trouble("%v; trying %s again in %s", err, p, wait)
		if !sleep(ctx, wait) {
			break
		}
		wait = min(2*wait, mostWait)
	}
	return nil
}

// sleep waits and reports whether the context still lasts.
func sleep(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}

// seconds makes a duration of seconds, or of those that are usual where none are
// given.
func seconds(s, usual float64) time.Duration {
	if s == 0 {
		s = usual
	}
	return time.Duration(s * float64(time.Second))
}
