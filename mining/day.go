package mining

import (
	"fmt"
	"math"
	"time"
)

// Day is a day as a number, 0 being 1970-01-01. It is written as 2026-03-14.
type Day int32

const dayForm = "2006-01-02"

// DayOf is the day of a time, in UTC.
func DayOf(t time.Time) Day {
	s := t.Unix()
	if s < 0 {
		s -= 86399
	}
	return Day(s / 86400)
}

// ParseDay reads a day written as 2026-03-14.
func ParseDay(s string) (Day, error) {
	t, err := time.Parse(dayForm, s)
	if err != nil {
		return 0, fmt.Errorf("reading a day: %q is not written like 2026-03-14", s)
	}
	return DayOf(t), nil
}

func (d Day) time() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

func (d Day) String() string { return d.time().Format(dayForm) }

// MarshalText writes the day as 2026-03-14.
func (d Day) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (d *Day) UnmarshalText(text []byte) error {
	v, err := ParseDay(string(text))
	*d = v
	return err
}

// month counts months from year 0, so that neighbours differ by one.
func (d Day) month() int {
	t := d.time()
	return t.Year()*12 + int(t.Month()) - 1
}

func monthName(m int) string { return fmt.Sprintf("%04d-%02d", m/12, m%12+1) }

// week counts weeks that begin on Mondays; 1970-01-01 was a Thursday.
func (d Day) week() int {
	w := int(d) + 3
	if w < 0 {
		w -= 6
	}
	return w / 7
}

// monday is the first day of a week.
func monday(week int) Day { return Day(week*7 - 3) }

// Month names the month of the day, like 2026-03.
func (d Day) Month() string { return monthName(d.month()) }

// MonthsSince is the age of a bike that was built in a month like 2026-03, taken
// from the month's middle; 0 when it is not known or lies ahead.
func MonthsSince(built string, now time.Time) float64 {
	t, err := time.Parse("2006-01", built)
	if err != nil {
		return 0
	}
	return max(0, math.Round(float64(DayOf(now)-DayOf(t.AddDate(0, 0, 14)))/daysPerMonth*10)/10)
}

// OfMonth is the day of the month, 1 to 31.
func (d Day) OfMonth() int { return d.time().Day() }
