package cli

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"lampassay/assay/quantity"
	"lampassay/bench/evidence"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// notebookRow is a row of a list.
type notebookRow struct {
	notebook.Ref
	Revision int64              `json:"revision"`
	Trashed  *time.Time         `json:"trashed"`
	Record   any                `json:"record"`
	Figures  map[string]float64 `json:"figures,omitempty"` // of the assay that a lamp stands with
	name     string
	details  string
}

func newNotebookList(s streams) *cobra.Command {
	var q notebook.Query
	var asJSON bool
	c := &cobra.Command{
		Use:   "list NOTEBOOK [KIND]",
		Short: "List lamps, or records of another kind",
		Long: `Lists the lamps of a notebook, or what else is named: instrument, reference,
sitting, assay, comparison or publication. A lamp stands with the figures of its
chosen assay, or else its latest.`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) < 1 || len(args) > 2 {
				return badInput("%s takes a notebook and, if you like, a kind of record: see %q", c.CommandPath(), c.CommandPath()+" --help")
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			kind := notebook.KindLamp
			if len(args) == 2 {
				if kind = notebook.Kind(strings.TrimSuffix(args[1], "s")); notebook.New(kind) == nil {
					return badInput("there are no records of the kind %q: use lamp, instrument, reference, sitting, assay, comparison or publication", args[1])
				}
			}
			return withNotebook(c.Context(), args[0], sqlite.OpenReadOnly, func(nb *sqlite.Store) error {
				all, total, err := listOf(c.Context(), nb, kind, q)
				if err != nil {
					return err
				}
				if asJSON {
					return json.NewEncoder(s.out).Encode(struct {
						Total   int           `json:"total"`
						Records []notebookRow `json:"records"`
					}{total, all})
				}
				return listView(s.out, kind, all, total, q.Trashed)
			})
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&q.Text, "text", "", "only those that have all these `words`")
	f.StringVar(&q.Technology, "technology", "", "only lamps of this `technology`")
	f.Var((*idValue)(&q.Lamp), "lamp", "only sittings or assays of the lamp with this `number`")
	f.StringVar(&q.Sort, "sort", "", "`by` name, changed, technology, or a quantity such as cct")
	f.BoolVar(&q.Descending, "descending", false, "the greatest first")
	f.IntVar(&q.Limit, "limit", 0, "at most so `many`")
	f.BoolVar(&q.Trashed, "trash", false, "what is in the trash instead")
	f.BoolVar(&asJSON, "json", false, "print one JSON object")
	return c
}

// idValue is a record's number as an option.
type idValue notebook.ID

func (v *idValue) String() string { return strconv.FormatInt(int64(*v), 10) }
func (v *idValue) Type() string   { return "number" }
func (v *idValue) Set(text string) error {
	n, err := parseID(text)
	*v = idValue(n)
	return err
}

func parseID(text string) (int64, error) {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 {
		return 0, badInput("%q is no number from 1 up", text)
	}
	return n, nil
}

// listOf gathers records of any kind for the list.
func listOf(ctx context.Context, nb notebook.Notebook, k notebook.Kind, q notebook.Query) ([]notebookRow, int, error) {
	today := instrument.DayOf(time.Now())
	switch k {
	case notebook.KindLamp:
		return rowsOf(nb.Shelf(ctx, q))(func(l *notebook.Shelved) notebookRow {
			return notebookRow{Record: &l.Lamp, name: l.Name, details: commas(l.Technology, l.Maker, l.Model, l.Piece, l.Base), Figures: l.Figures}
		})
	case notebook.KindInstrument:
		var failed error
		rows, total, err := rowsOf(nb.Instruments().List(ctx, q))(func(in *notebook.Instrument) notebookRow {
			late, err := evidence.Overdue(ctx, nb, in, today)
			failed = errors.Join(failed, err)
			return notebookRow{name: in.Name, details: commas(append([]string{in.Sort, in.Maker, in.Model, in.Serial}, late...)...)}
		})
		return rows, total, errors.Join(err, failed)
	case notebook.KindReference:
		return rowsOf(nb.References().List(ctx, q))(func(r *notebook.Reference) notebookRow {
			return notebookRow{name: r.Name, details: commas(append([]string{r.Sort, r.Serial}, r.Overdue(today)...)...)}
		})
	case notebook.KindSitting:
		all, total, err := rowsOf(nb.Sittings().List(ctx, q))(func(v *notebook.Sitting) notebookRow {
			return notebookRow{name: v.Title, details: fmt.Sprintf("lamp %d, %s", v.Lamp, v.Started.Format("2006-01-02 15:04"))}
		})
		for i := range all {
			t, tallyErr := nb.Tally(ctx, all[i].ID)
			err = errors.Join(err, tallyErr)
			all[i].details += fmt.Sprintf(", readings: %d", t.Readings)
		}
		return all, total, err
	case notebook.KindAssay:
		return rowsOf(nb.Assays().List(ctx, q))(func(a *notebook.Assay) notebookRow {
			return notebookRow{name: a.Made.Format("2006-01-02 15:04"), details: fmt.Sprintf("lamp %d, by version %s", a.Lamp, a.Program), Figures: a.Figures}
		})
	case notebook.KindComparison:
		return rowsOf(nb.Comparisons().List(ctx, q))(func(c *notebook.Comparison) notebookRow {
			return notebookRow{name: c.Title, details: fmt.Sprintf("%d assays", len(c.Assays))}
		})
	}
	return rowsOf(nb.Publications().List(ctx, q))(func(p *notebook.Publication) notebookRow {
		return notebookRow{name: p.Title, details: commas(p.Made.Format(time.DateOnly), p.Where, fmt.Sprintf("errata: %d", len(p.Errata)))}
	})
}

// rowsOf turns a list of records into rows.
func rowsOf[T any, P interface {
	*T
	GetHead() *notebook.Head
	Kind() notebook.Kind
}](list notebook.List[T], err error) func(row func(*T) notebookRow) ([]notebookRow, int, error) {
	return func(row func(*T) notebookRow) ([]notebookRow, int, error) {
		all := make([]notebookRow, 0, len(list.Items))
		for _, item := range list.Items {
			one, head := row(item), P(item).GetHead()
			one.Ref, one.Revision = notebook.Ref{Kind: P(item).Kind(), ID: head.ID}, head.Revision
			if one.Record == nil {
				one.Record = item
			}
			if !head.Trashed.IsZero() {
				one.Trashed = &head.Trashed
			}
			all = append(all, one)
		}
		return all, list.Total, err
	}
}

// commas puts commas between what is known.
func commas(parts ...string) string {
	var known []string
	for _, p := range parts {
		if p != "" {
			known = append(known, p)
		}
	}
	return strings.Join(known, ", ")
}

// shelfFigures are the quantities a list shows.
var shelfFigures = []quantity.ID{quantity.LuminousFlux, quantity.LuminousEfficacy, quantity.CCT, quantity.Duv, quantity.Ra}

func listView(to io.Writer, k notebook.Kind, all []notebookRow, total int, trash bool) error {
	w := bufio.NewWriter(to)
	v := &view{w: w}
	figures := slices.ContainsFunc(all, func(one notebookRow) bool { return len(one.Figures) > 0 })
	room := viewWidth - 32
	if figures {
		room = 32
		v.printf("%s", pad("", 64))
		for _, id := range shelfFigures {
			v.printf("%s", padLeft(strings.TrimSpace(quantity.Get(id).Symbol+" "+quantity.Get(id).ReadingUnit()), 10))
		}
		v.printf("\n")
	}
	for _, one := range all {
		line := fmt.Sprintf("%s  %s%s", padLeft(strconv.FormatInt(int64(one.ID), 10), 4), pad(clip(one.name, 24), 26), clip(one.details, room))
		if figures {
			line = pad(line, 64)
			for _, id := range shelfFigures {
				text := "–"
				if value, is := one.Figures[quantity.Get(id).Key]; is {
					text = quantity.Get(id).Format(value)
				}
				line += padLeft(text, 10)
			}
		}
		v.printf("%s\n", strings.TrimRight(line, " "))
	}
	where := "in use"
	if trash {
		where = "in the trash"
	}
	switch {
	case total == 0:
		v.printf("No %s is %s.\n", k, where)
	case total > len(all):
		v.printf("%d of the %d that are %s.\n", len(all), total, where)
	}
	if v.err != nil {
		return v.err
	}
	return w.Flush()
}

// clip shortens a text to n letters.
func clip(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

func newNotebookLog(s streams) *cobra.Command {
	var after idValue
	var limit int
	var asJSON bool
	c := &cobra.Command{
		Use:   "log NOTEBOOK",
		Short: "What was changed, and when",
		Args:  exactly(1, "a notebook"),
		RunE: func(c *cobra.Command, args []string) error {
			return withNotebook(c.Context(), args[0], sqlite.OpenReadOnly, func(nb *sqlite.Store) error {
				changes, err := nb.Changes(c.Context(), int64(after), limit)
				if err != nil {
					return err
				}
				w := bufio.NewWriter(s.out)
				encoder := json.NewEncoder(w)
				for _, one := range changes {
					if asJSON {
						err = encoder.Encode(one)
					} else {
						_, err = fmt.Fprintf(w, "%s  %s  %s%s%s\n", padLeft(strconv.FormatInt(one.Seq, 10), 5), one.At.Local().Format("2006-01-02 15:04:05"), pad(one.Ref.String(), 17), changeText(one.Action), undoText(one.Undoes))
					}
					if err != nil {
						return err
					}
				}
				return w.Flush()
			})
		},
	}
	f := c.Flags()
	f.SortFlags = false
	f.Var(&after, "after", "only changes after this `number`")
	f.IntVar(&limit, "limit", 0, "at most so `many`")
	f.BoolVar(&asJSON, "json", false, "print one JSON object a line")
	return c
}

func changeText(a notebook.Action) string {
	switch a {
	case notebook.Appended:
		return "readings recorded"
	case notebook.Trashed:
		return "put into the trash"
	}
	return string(a)
}

func undoText(change int64) string {
	if change == 0 {
		return ""
	}
	return fmt.Sprintf(", which takes back change %d", change)
}
