package cli

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"lampassay/bench/notebook/sqlite"
	"lampassay/publish/webapp"
)

// openOptions are the options of the open command.
type openOptions struct {
	listen string
	given  bool // the user chose where to listen
	hosts  []string

	instruments string
	simulate    optionalFloat
}

// passwordVariable names what may hold the password in place of a prompt.
const passwordVariable = "LAMPASSAY_PASSWORD"

func newOpen(s streams) *cobra.Command {
	o := openOptions{listen: "127.0.0.1:7410"}
	c := &cobra.Command{
		Use:   "open [NOTEBOOK]",
		Short: "Work in a notebook with a browser",
		Long: `Serves a notebook as pages and prints their address: lamps, sittings, assays,
comparisons. A notebook that is not there is made; without a name it is the one
in your own data folder.

Only programs on this machine are heard. With --listen on another address others
may enter with a password, which is asked for, or taken from the environment
variable ` + passwordVariable + `; the line is not encrypted.

With --instruments a sitting can be read live; the page starts and stops what the
file names, and can name nothing itself. With --simulate there are invented
instruments to practise with.

End it with Ctrl-C. Everything acknowledged is on the disk by then.`,
		Example: `  lampassay open
  lampassay open bench.notebook
  lampassay open bench.notebook --instruments bench.json
  lampassay open practice.notebook --simulate 60
  lampassay open bench.notebook --listen 192.168.1.20:7410`,
		Args: atMostOne("notebook"),
		RunE: func(c *cobra.Command, args []string) error {
			o.given = c.Flags().Changed("listen")
			return runOpen(c.Context(), s, &o, args)
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.listen, "listen", o.listen, "`address:port` to be reached at")
	f.StringVar(&o.instruments, "instruments", "", "read the instruments that a `FILE` names, when a sitting asks for it")
	f.Var(&o.simulate, "simulate", "read invented instruments before an invented lamp, which burns so `many` times faster than time")
	f.StringSliceVar(&o.hosts, "host", nil, "further `names` that browsers may call this machine by")
	return c
}

func runOpen(ctx context.Context, s streams, o *openOptions, args []string) error {
	password, err := o.password(s)
	if err != nil {
		return err
	}
	name, err := notebookAsked(args)
	if err != nil {
		return err
	}
	bench, err := o.bench(ctx, s)
	if err != nil {
		return err
	}
	defer bench.close()
	open := sqlite.Open
	made := !exists(name)
	if made {
		open = sqlite.Create
	}
	return withNotebook(ctx, name, open, func(nb *sqlite.Store) error {
		if made {
			fmt.Fprintf(s.err, "lampassay: made %s, an empty notebook\n", name)
		}
		at, err := o.bind(ctx)
		if err != nil {
			return err
		}
		defer at.Close()
		server, err := webapp.New(webapp.Options{
			Notebook: nb, Name: strings.TrimSuffix(filepath.Base(name), filepath.Ext(name)), Version: version(),
			Hosts: o.names(at.Addr()), Password: password, Cache: openLimitCache(), SetUp: bench.setUp, Began: bench.began,
			Log: slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelWarn})),
		})
		if err != nil {
			return badInput("%s", strings.TrimPrefix(err.Error(), "webapp: "))
		}
		if _, err := fmt.Fprintf(s.out, "http://%s/\n", reached(at.Addr())); err != nil {
			return err
		}
		if password != "" {
			fmt.Fprintf(s.err, "lampassay: whoever reaches %s and has the password may read and change the notebook. The line is not encrypted: others on the network can read along, the password too.\n", at.Addr())
		}
		own, err := net.InterfaceAddrs()
		if err != nil {
			own = nil // whoever asked for all addresses knows them
		}
		for _, address := range elsewhere(at.Addr(), own) {
			fmt.Fprintf(s.err, "lampassay: from another machine: %s\n", address)
		}
		fmt.Fprintf(s.err, "lampassay: open the address in a browser; Ctrl-C ends it\n")
		listen := new(http.Server)
		return errors.Join(server.Serve(ctx, listen, func() error { return listen.Serve(at) }), server.Close())
	})
}

// notebookAsked is the notebook to be opened, by default one in the user's own
// folder.
func notebookAsked(args []string) (string, error) {
	if len(args) == 1 {
		return args[0], nil
	}
	folder, err := os.UserConfigDir()
	if err != nil {
		return "", badInput("there is no folder of yours to keep a notebook in: name one")
	}
	folder = filepath.Join(folder, "lampassay")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", err
	}
	return filepath.Join(folder, "bench.notebook"), nil
}

// bind takes the address. Where nobody chose one and the usual port is in use, any
// free one will do.
func (o *openOptions) bind(ctx context.Context) (net.Listener, error) {
	var c net.ListenConfig
	at, err := c.Listen(ctx, networkOf(o.listen), o.listen)
	if err != nil && !o.given {
		at, err = c.Listen(ctx, "tcp", "127.0.0.1:0")
	}
	if err != nil {
		return nil, badInput("nobody can be heard at %s: %w", o.listen, err)
	}
	return at, nil
}

// loopback reports whether only this machine reaches an address.
func loopback(address string) (bool, error) {
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return false, badInput("--listen %q: write an address and a port, such as 127.0.0.1:7410", address)
	}
	if host == "localhost" {
		return true, nil
	}
	ip, err := netip.ParseAddr(host)
	return err == nil && ip.IsLoopback(), nil
}

// password returns what others have to give, "" where only this machine is heard.
func (o *openOptions) password(s streams) (string, error) {
	own, err := loopback(o.listen)
	if err != nil || own {
		return "", err
	}
	word := os.Getenv(passwordVariable)
	if word == "" {
		if word, err = askPassword(s); err != nil {
			return "", err
		}
	}
	if err := webapp.CheckPassword(word); err != nil {
		return "", badInput("%s", strings.TrimPrefix(err.Error(), "webapp: "))
	}
	return word, nil
}

func askPassword(s streams) (string, error) {
	in, is := s.in.(*os.File)
	if !is || !term.IsTerminal(int(in.Fd())) {
		return "", badInput("to be reached from elsewhere the notebook needs a password: set %s, or start it on a terminal to be asked", passwordVariable)
	}
	fmt.Fprint(s.err, "A password for whoever comes from elsewhere: ")
	word, err := term.ReadPassword(int(in.Fd()))
	fmt.Fprintln(s.err)
	if err != nil {
		return "", errors.Join(badInput("no password was read"), err)
	}
	return string(word), nil
}

// names are what a browser may call this server.
func (o *openOptions) names(at net.Addr) []string {
	_, port, _ := net.SplitHostPort(at.String())
	names := []string{at.String(), net.JoinHostPort("localhost", port), net.JoinHostPort("127.0.0.1", port), net.JoinHostPort("::1", port)}
	for _, host := range o.hosts {
		names = append(names, strings.ToLower(host), net.JoinHostPort(strings.ToLower(host), port))
	}
	return names
}
