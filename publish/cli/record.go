package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"lampassay/bench/live"
	"lampassay/bench/live/simulate"
	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// recordOptions are the options of the record command.
type recordOptions struct {
	setUp           string
	scpi, serial    string
	queries         []string
	baud            int
	pattern         string
	folder          string
	simulate        float64
	keyboard        bool
	notebook        string
	lamp, sitting   notebook.ID
	title           string
	csv, log        string
	lasting         time.Duration
	untilStable, on bool
	every           time.Duration
	json            bool
	rule            ruleOptions
}

func newRecord(s streams) *cobra.Command {
	var o recordOptions
	c := &cobra.Command{
		Use:   "record",
		Short: "Record what instruments say, and judge the run-up meanwhile",
		Long: `Reads instruments until it is interrupted, --for is over or, with --until-stable,
the lamp is stable, and prints every so often what they say, whether the lamp is
stable by a rule, and how long it may still need. Readings go into a sitting of a
notebook, into a table, or both.

Instruments come from a set-up file (docs/format/bench.md) or from options: a power
meter asked by SCPI, a light meter that sends lines, a folder into which a
spectrometer's program drops its files. Nothing is sent to an instrument that would
change it unless the set-up allows that very command, and all that is sent stands in
the log. With --keyboard each line that is typed is kept as well: "illuminance 1234
lx" as a reading, anything else as a remark.

What cannot be read is kept with a flag; an instrument that goes away is tried again.
With --until-stable the exit code is 1 where the lamp is not stable at the end.`,
		Example: `  lampassay record --setup bench.json --csv readings.csv
  lampassay record --setup bench.json --notebook bench.notebook --lamp 2 --until-stable --for 150m
  lampassay record --scpi 192.168.1.20:5025 --query "MEAS:POW?=power:W" --csv watts.csv
  lampassay record --serial /dev/ttyUSB0 --pattern "(?P<illuminance>\S+) lx" --csv lux.csv
  lampassay record --simulate 60 --until-stable --csv readings.csv`,
		Args: exactly(0, "no files, only options"),
		RunE: func(c *cobra.Command, _ []string) error { return runRecord(c.Context(), s, &o) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.setUp, "setup", "", "the instruments, from a JSON `FILE`")
	f.StringVar(&o.scpi, "scpi", "", "a power meter at this `host:port`")
	f.StringArrayVar(&o.queries, "query", nil, "what it is asked, as `QUERY=name:unit,...`; may be repeated")
	f.StringVar(&o.serial, "serial", "", "a light meter at this serial `port`")
	f.IntVar(&o.baud, "baud", 9600, "its `rate`")
	f.StringVar(&o.pattern, "pattern", "", "how its lines read, as a regular `expression` with named groups")
	f.StringVar(&o.folder, "folder", "", "a `folder` into which spectra are dropped")
	f.Float64Var(&o.simulate, "simulate", 0, "in place of all these a simulated bench, whose lamp burns so `many` times faster")
	f.BoolVar(&o.keyboard, "keyboard", false, "keep what is typed, too")
	f.StringVar(&o.notebook, "notebook", "", "keep readings in this `NOTEBOOK`")
	f.Var((*idValue)(&o.lamp), "lamp", "in a new sitting of the lamp with this `number`")
	f.Var((*idValue)(&o.sitting), "sitting", "in the sitting with this `number`")
	f.StringVar(&o.title, "title", "run-up", "what a new sitting is called")
	f.StringVar(&o.csv, "csv", "", "keep readings in a table in this new `FILE`")
	f.StringVar(&o.log, "log", "", "keep the log, with every command sent, in this new `FILE`, a JSON object a line")
	f.DurationVar(&o.lasting, "for", 0, "end after this `time`, such as 45m")
	f.BoolVar(&o.untilStable, "until-stable", false, "end when the lamp is stable")
	f.BoolVar(&o.on, "on", false, "mark that the lamp is switched on now")
	f.DurationVar(&o.every, "every", 2*time.Second, "how often to print how it stands")
	f.BoolVar(&o.json, "json", false, "print every event as a JSON object a line")
	o.rule.register(f)
	return c
}

func runRecord(ctx context.Context, s streams, o *recordOptions) (err error) {
	criterion, err := o.rule.criterion()
	if err != nil {
		return err
	}
	if o.every < 10*time.Millisecond || o.lasting < 0 {
		return badInput("--every is 10ms or more, and --for not negative")
	}
	if err := o.checkTargets(); err != nil {
		return err
	}
	sources, rate, end, err := o.sources(ctx, s)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, end()) }()
	var closers []io.Closer
	defer func() {
		for _, c := range closers {
			err = errors.Join(err, c.Close())
		}
	}()
	sink, closers, err := o.sink(ctx, s)
	if err != nil {
		return err
	}
	session := live.Open(ctx, sink, live.Options{Rate: rate, Look: live.Photometer()})
	r := &recording{o: o, s: s, session: session, report: runUpReport{of: session, criterion: criterion}}
	err = r.run(ctx, sources)
	return errors.Join(err, r.end())
}

// checkTargets looks at where readings are to go.
func (o *recordOptions) checkTargets() error {
	switch {
	case o.notebook == "" && (o.lamp != 0 || o.sitting != 0):
		return badInput("--lamp and --sitting are numbers of a notebook: name it with --notebook")
	case o.notebook != "" && (o.lamp == 0) == (o.sitting == 0):
		return badInput("--notebook %s: say with --lamp whose new sitting it is, or with --sitting which old one", o.notebook)
	case o.notebook == "" && o.csv == "" && !o.json:
		return badInput("nothing would be kept: say where with --notebook, --csv or both, or use --json")
	}
	return nil
}

// sources are what the options ask for, with the clock's rate.
func (o *recordOptions) sources(ctx context.Context, s streams) (all []live.Source, rate float64, end func() error, err error) {
	rate, end = 1, func() error { return nil }
	if o.simulate != 0 {
		if o.setUp != "" || o.scpi != "" || o.serial != "" || o.folder != "" {
			return nil, 0, nil, badInput("--simulate is in place of other instruments: leave those out")
		}
		bench, folder, err := simulated(ctx, o.simulate)
		if err != nil {
			return nil, 0, nil, err
		}
		all, rate = bench.Sources(), o.simulate
		end = func() error { return errors.Join(bench.Close(), os.RemoveAll(folder)) }
	}
	if o.setUp != "" {
		f, err := os.Open(o.setUp)
		if err != nil {
			return nil, 0, nil, err
		}
		config, err := live.ReadConfig(o.setUp, f)
		f.Close()
		if err != nil {
			return nil, 0, nil, inputError{err}
		}
		all, rate = config.Sources, config.Rate
	}
	if o.scpi != "" {
		m := &live.SCPI{Name: "mains", Port: live.Port{TCP: o.scpi}}
		for _, q := range o.queries {
			one, err := parseQuery(q)
			if err != nil {
				return nil, 0, nil, err
			}
			m.Queries = append(m.Queries, one)
		}
		all = append(all, m)
	} else if len(o.queries) > 0 {
		return nil, 0, nil, badInput("--query is for a meter: say with --scpi where it is")
	}
	if o.serial != "" {
		all = append(all, &live.Line{Name: "lux", Port: live.Port{Serial: o.serial, Baud: o.baud}, Pattern: o.pattern})
	}
	if o.folder != "" {
		all = append(all, &live.Folder{Name: "spectrometer", Path: o.folder})
	}
	if o.keyboard {
		all = append(all, &live.Typed{Name: "bench", From: s.in})
	}
	if len(all) == 0 {
		return nil, 0, nil, badInput("there is no instrument to read: name one with --scpi, --serial or --folder, or several with --setup")
	}
	for _, src := range all {
		if err := src.Check(); err != nil {
			return nil, 0, nil, inputError{err}
		}
	}
	return all, rate, end, nil
}

// parseQuery reads "MEAS:POW?=power:W" and "MEAS:VOLT?;CURR?=voltage:V,current:A".
func parseQuery(text string) (live.Query, error) {
	send, names, ok := strings.Cut(text, "=")
	q := live.Query{Send: send}
	for name := range strings.SplitSeq(names, ",") {
		key, unit, _ := strings.Cut(name, ":")
		q.Values = append(q.Values, live.Column{Key: strings.TrimSpace(key), Unit: strings.TrimSpace(unit)})
	}
	if !ok || q.Values[0].Key == "" {
		return q, badInput("--query %q: write the query and the names of its values, such as \"MEAS:POW?=power:W\"", text)
	}
	return q, nil
}

// sink is where readings go, and what has to be closed afterwards.
func (o *recordOptions) sink(ctx context.Context, s streams) (live.Sink, []io.Closer, error) {
	var sinks sinkList
	var closers []io.Closer
	if o.csv != "" {
		f, err := os.OpenFile(o.csv, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if err != nil {
			if errors.Is(err, os.ErrExist) {
				return nil, nil, badInput("%s is there already: name a new file", o.csv)
			}
			return nil, nil, err
		}
		closers = append(closers, f)
		table, err := live.NewTable(f)
		if err != nil {
			return nil, closers, err
		}
		sinks = append(sinks, table)
	}
	if o.notebook != "" {
		nb, err := sqlite.Open(ctx, o.notebook)
		if err != nil {
			return nil, closers, err
		}
		closers = append(closers, nb)
		sitting := o.sitting
		if o.lamp != 0 {
			kept, err := nb.Sittings().Add(ctx, notebook.Sitting{Lamp: o.lamp, Title: o.title, Started: time.Now()})
			if err != nil {
				return nil, closers, err
			}
			sitting = kept.ID
			fmt.Fprintf(s.err, "lampassay: readings go into the new sitting %d of lamp %d\n", sitting, o.lamp)
		} else if _, err := nb.Sittings().Get(ctx, sitting); err != nil {
			return nil, closers, err
		}
		sinks = append(sinks, live.Into(nb, sitting))
	}
	return sinks, closers, nil
}

// sinkList keeps readings in several places, the last of which numbers them. An
// empty one keeps them nowhere.
type sinkList []live.Sink

func (l sinkList) Append(ctx context.Context, all []notebook.Reading) (last int64, err error) {
	for _, s := range l {
		if last, err = s.Append(ctx, all); err != nil {
			return last, err
		}
	}
	return last, nil
}

// recording is one run of the command.
type recording struct {
	o       *recordOptions
	s       streams
	session *live.Session
	report  runUpReport
	judged  bool // a verdict could be had at the end
	log     *os.File

	follow sync.WaitGroup
	quit   context.CancelFunc
	failed error // of following; read after follow
}

// run starts the sources and prints how it stands until it is over.
func (r *recording) run(ctx context.Context, sources []live.Source) error {
	if r.o.log != "" {
		f, err := os.OpenFile(r.o.log, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
		if errors.Is(err, os.ErrExist) {
			return badInput("%s is there already: name a new file", r.o.log)
		}
		if err != nil {
			return err
		}
		r.log = f
	}
	followed, quit := context.WithCancel(context.WithoutCancel(ctx))
	r.quit = quit
	r.follow.Go(func() { r.failed = r.events(followed) })
	if r.o.on {
		if _, err := r.session.Mark(ctx, "switched on"); err != nil {
			return err
		}
	}
	for _, src := range sources {
		if err := r.session.Start(src); err != nil {
			return inputError{err}
		}
	}
	ended := make(chan struct{})
	go func() {
		r.session.Wait()
		close(ended)
	}()
	var over <-chan time.Time
	if r.o.lasting > 0 {
		over = time.After(time.Duration(float64(r.o.lasting) / r.session.Clock().Rate()))
	}
	tick := time.NewTicker(r.o.every)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			if err := r.stand(); err != nil {
				return err
			}
			if r.o.untilStable && r.judged && r.report.Verdict.Stable {
				return nil
			}
		case <-over:
			return nil
		case <-ended:
			return nil
		case <-ctx.Done():
			return nil // the usual way to end it
		}
	}
}

// judge brings the report up to date.
func (r *recording) judge() error {
	light, power, err := r.o.rule.picks(r.session)
	if err != nil {
		return err
	}
	w := live.Watch{Light: light, Power: power, Criterion: r.report.criterion, SwitchedOn: r.session.SwitchedOn()}
	standing, err := r.session.RunUp(w)
	if err != nil {
		return err
	}
	r.report.light, r.report.power, r.report.Standing = light, power, standing
	return nil
}

// stand prints how it stands.
func (r *recording) stand() error {
	err := r.judge()
	r.judged = err == nil
	if r.o.json {
		return nil
	}
	text := clock(r.session.Clock().Now().Sub(r.session.Clock().Start()).Seconds()) + "  "
	for _, st := range r.session.Statuses() {
		if st.Last == nil {
			continue
		}
		for _, v := range st.Last.Values {
			switch {
			case v.V != nil:
				text += fmt.Sprintf("%s %.4g%s, ", v.Key, *v.V, space(v.Unit))
			case v.Flag != "":
				text += fmt.Sprintf("%s %s, ", v.Key, v.Flag)
			}
		}
		if st.Last.Curve != nil {
			text += fmt.Sprintf("spectrum %d, ", st.Readings)
		}
	}
	text = strings.TrimSuffix(text, ", ")
	switch {
	case !r.judged:
		text += "; " + strings.TrimPrefix(err.Error(), "temporal: ")
	case r.report.Verdict.Stable:
		text += "; stable: " + r.report.Verdict.Why
	default:
		text += "; not stable yet, left: " + leftText(r.report.Left)
	}
	_, err = fmt.Fprintln(r.s.out, text)
	return err
}

// events follows the session: what goes wrong to standard error, everything to the
// log and, if asked for, to standard output.
func (r *recording) events(ctx context.Context) error {
	var to []*json.Encoder
	if r.log != nil {
		to = append(to, json.NewEncoder(r.log))
	}
	if r.o.json {
		to = append(to, json.NewEncoder(r.s.out))
	}
	told := map[string]bool{}
	for after := int64(0); ; {
		all, err := r.session.Since(ctx, after)
		if err != nil {
			return nil // it is over
		}
		if missed := all[0].N - after - 1; missed > 0 {
			fmt.Fprintf(r.s.err, "lampassay: %d events came too fast for the log; the readings among them are kept\n", missed)
		}
		for _, e := range all {
			if e.Kind == live.Trouble && !told[e.Channel+e.Text] {
				told[e.Channel+e.Text] = len(told) < 1000
				fmt.Fprintf(r.s.err, "lampassay: %s: %s\n", e.Channel, e.Text)
			}
			for _, w := range to {
				if err := w.Encode(loggedEvent(e)); err != nil {
					return err
				}
			}
		}
		after = all[len(all)-1].N
	}
}

// loggedEvent is an event without the samples of a curve.
func loggedEvent(e live.Event) any {
	j := struct {
		live.Event
		Reading json.RawMessage `json:"reading,omitempty"`
	}{Event: e}
	if e.Reading != nil {
		j.Reading, _ = e.Reading.Encode() // a reading that was kept can be encoded
	}
	return j
}

// end closes the session and prints the run-up.
func (r *recording) end() error {
	err := r.session.Close()
	if r.quit != nil {
		// What was said to the end is still to be logged.
		time.AfterFunc(50*time.Millisecond, r.quit)
		r.follow.Wait()
		err = errors.Join(err, r.failed)
	}
	if r.log != nil {
		err = errors.Join(err, r.log.Close())
	}
	if err != nil {
		return err
	}
	judgeErr := r.judge()
	if !r.o.json {
		readings, flagged := int64(0), int64(0)
		for _, st := range r.session.Statuses() {
			readings, flagged = readings+st.Readings, flagged+st.Flagged
		}
		fmt.Fprintf(r.s.out, "\n%d readings, %d of them with a flag.\n", readings, flagged)
		if judgeErr == nil {
			fmt.Fprintln(r.s.out)
			if err := r.report.view(r.s.out); err != nil {
				return err
			}
		}
	}
	if r.o.untilStable && (judgeErr != nil || !r.report.Verdict.Stable) {
		return errNo
	}
	return nil
}

// simulated opens a simulated bench with a folder of its own. Where there are no
// pseudo-terminals it has no light meter.
func simulated(ctx context.Context, rate float64) (*simulate.Bench, string, error) {
	if !(rate >= 1 && rate <= 1000) {
		return nil, "", badInput("a simulated lamp burns 1 to 1000 times faster, not %g", rate)
	}
	folder, err := os.MkdirTemp("", "lampassay-simulated-")
	if err != nil {
		return nil, "", err
	}
	o := simulate.Options{Rate: rate, Folder: folder, OnContact: time.Second / 2, Every: simulatedEvery(rate)}
	bench, err := simulate.Open(ctx, o)
	if err != nil {
		o.NoTerminal = true
		if bench, err = simulate.Open(ctx, o); err != nil {
			return nil, "", errors.Join(err, os.RemoveAll(folder))
		}
	}
	return bench, folder, nil
}

// simulatedEvery keeps readings close enough in the lamp's time for a rule to
// look at, down to 20 ms.
func simulatedEvery(rate float64) time.Duration {
	return min(max(time.Duration(float64(20*time.Second)/rate), 20*time.Millisecond), time.Second/2)
}
