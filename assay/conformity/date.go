package conformity

import (
	"fmt"
	"time"
)

// Date is a day as ISO 8601 writes it, "2021-09-01"; empty for no day. Days
// compare as strings do.
type Date string

// ParseDate checks a day.
func ParseDate(s string) (Date, error) {
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		return "", fmt.Errorf("conformity: %q is no day: write it as year-month-day, 2021-09-01", s)
	}
	return Date(s), nil
}

// Period is when something applies, both days included; an empty day is an open
// end.
type Period struct {
	From  Date `json:"from,omitempty"`
	Until Date `json:"until,omitempty"`
}

// covers reports whether the period holds on a day, or without one whether it
// has no end.
func (p Period) covers(on Date) bool {
	if on == "" {
		return p.Until == ""
	}
	return p.From <= on && (p.Until == "" || on <= p.Until)
}

// String says the period in words, "" where it is open at both ends.
func (p Period) String() string {
	switch {
	case p.From != "" && p.Until != "":
		return fmt.Sprintf("from %s until %s", p.From, p.Until)
	case p.From != "":
		return "since " + string(p.From)
	case p.Until != "":
		return "until " + string(p.Until)
	}
	return ""
}

func (p Period) problem() error {
	for _, d := range []Date{p.From, p.Until} {
		if d == "" {
			continue
		}
		if _, err := ParseDate(string(d)); err != nil {
			return err
		}
	}
	if p.From != "" && p.Until != "" && p.Until < p.From {
		return fmt.Errorf("conformity: the period ends on %s, before it begins on %s", p.Until, p.From)
	}
	return nil
}
