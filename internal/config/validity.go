package config

import (
	"fmt"
	"strconv"
	"strings"
	"time"
)

// Validity is for how long something that was measured of a rig counts: a whole number
// of hours, days or weeks, such as 30d. Zero, written never, is for good.
type Validity time.Duration

const day = 24 * time.Hour

var validityUnits = []struct {
	name   string
	length time.Duration
}{{"h", time.Hour}, {"d", day}, {"w", 7 * day}}

// UnmarshalText reads a validity with its unit; a bare number is refused.
func (v *Validity) UnmarshalText(text []byte) error {
	told := strings.ToLower(strings.TrimSpace(string(text)))
	if told == "never" {
		*v = 0
		return nil
	}
	const most = 100 * 365 * day
	for _, u := range validityUnits {
		number, ok := strings.CutSuffix(told, u.name)
		if !ok {
			continue
		}
		n, err := strconv.Atoi(strings.TrimSpace(number))
		if err != nil || n < 1 || time.Duration(n) > most/u.length {
			break
		}
		*v = Validity(time.Duration(n) * u.length)
		return nil
	}
	return fmt.Errorf("read validity %q: want a whole number of hours, days or weeks, such as 12h, 30d or 2w, or never", told)
}

// MarshalText writes what reads back to the same validity.
func (v Validity) MarshalText() ([]byte, error) { return []byte(v.String()), nil }

// String writes the validity in the largest unit that fits a whole number of times.
func (v Validity) String() string {
	for i := len(validityUnits) - 1; i >= 0 && v > 0; i-- {
		if u := validityUnits[i]; time.Duration(v)%u.length == 0 {
			return strconv.FormatInt(int64(time.Duration(v)/u.length), 10) + u.name
		}
	}
	return "never"
}

// Until returns when something measured at a time is due again; zero for never.
func (v Validity) Until(from time.Time) time.Time {
	if v == 0 {
		return time.Time{}
	}
	return from.Add(time.Duration(v))
}
