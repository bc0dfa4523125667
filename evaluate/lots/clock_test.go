package lots

import (
	"testing"
	"time"
)

func TestClosingTimesAsPeopleTypeThem(t *testing.T) {
	r := newLotReader(nil, Reading{})
	for text, want := range map[string]string{
		"9.00am": "09:00", "9.05": "09:05", "0930": "09:30", "9:20 am": "09:20", "9.20 a.m.": "09:20", "2.05pm": "14:05",
		"12.15pm": "12:15", "12.15am": "00:15", "14:05": "14:05", "14.05.30": "14:05", "9am": "09:00", "noon": "12:00",
		"0930hrs": "09:30", "10 AM": "10:00", "02:05": "02:05", "9h30": "09:30", "7:30": "07:30", "1845": "18:45",
		"half past nine": "", "25:00": "", "9.65": "", "13pm": "", "2:05": "", "6.30": "", "930": "", "2026": "20:26",
	} {
		at, timeOnly, err := r.closing(text)
		switch got := at.Format("15:04"); {
		case want == "" && err == nil:
			t.Errorf("%q is read as %s", text, got)
		case want != "" && (err != nil || !timeOnly || got != want):
			t.Errorf("%q is read as %s, time alone %v, %v; want %s", text, got, timeOnly, err, want)
		}
	}
	for text, want := range map[string]string{
		"2026-03-04 14:05": "2026-03-04 14:05", "4 March 2026 9.05am": "2026-03-04 09:05", "17/03/2026 0930hrs": "2026-03-17 09:30",
		"Tue 17 March 2026 at 9.30": "2026-03-17 09:30", "17 March 2026, noon": "2026-03-17 12:00",
	} {
		at, timeOnly, err := r.closing(text)
		if got := at.Format("2006-01-02 15:04"); err != nil || timeOnly || got != want {
			t.Errorf("%q is read as %s, time alone %v, %v; want %s", text, got, timeOnly, err, want)
		}
	}
	if at, _, err := r.closing("12 March 2026"); err == nil {
		t.Errorf("a day alone is read as the time %s", at.Format(time.DateTime))
	}
}
