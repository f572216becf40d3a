package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// recordOptions are the options of the record command.
type recordOptions struct {
	setUp           string
	scpi, serial    string
	queries         []string
	baud            int
	pattern         string
	folder          string
	offset          []string                 // as written
	offsets         map[string]time.Duration // by channel
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
lx" as a reading, anything else as a remark. With --offset lux=-2.5 what the light
meter says counts as of 2.5 s earlier, which the record notes.

Of a notebook's lamp, what to beware of comes first: reminders, and no training.
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
	f.StringArrayVar(&o.offset, "offset", nil, "seconds that are added to the times of an instrument, as `NAME=SECONDS`; may be repeated")
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
	var to targets
	defer func() { err = errors.Join(err, to.close()) }()
	if err := to.open(ctx, s, o); err != nil {
		return err
	}
	session := live.Open(ctx, &to, live.Options{Rate: rate, Look: live.Photometer()})
	r := &recording{o: o, s: s, session: session, log: to.log, report: runUpReport{of: session, rule: to.rule}}
	err = r.run(ctx, sources)
	return errors.Join(err, r.end())
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
	followed, quit := context.WithCancel(context.WithoutCancel(ctx))
	r.quit = quit
	r.follow.Go(func() { r.failed = r.events(followed) })
	if r.o.on {
		if _, err := r.session.Mark(ctx, "switched on"); err != nil {
			return err
		}
	}
	if err := r.session.SetOffsets(ctx, r.o.offsets); err != nil {
		return err
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
	w := live.Watch{Light: light, Power: power, Criterion: r.report.rule.Criterion, SwitchedOn: r.session.SwitchedOn()}
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
				fmt.Fprintln(r.s.err, "lampassay: "+trouble(e))
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

// trouble says what went wrong and with what; not every event is an instrument's.
func trouble(e live.Event) string {
	if e.Channel == "" {
		return e.Text
	}
	return e.Channel + ": " + e.Text
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
			v := &view{w: r.s.out}
			r.report.view(v)
			if v.err != nil {
				return v.err
			}
		}
	}
	if r.o.untilStable && (judgeErr != nil || !r.report.Verdict.Stable) {
		return errNo
	}
	return nil
}
