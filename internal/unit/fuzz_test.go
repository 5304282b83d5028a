package unit

import (
	"encoding/json"
	"testing"
)

// FuzzMaybe: text is a value, null or an error; a value is written back as
// itself, and an error leaves what was there.
func FuzzMaybe(f *testing.F) {
	for _, s := range []string{"null", "-18.5", "1e308", "1e309", `"-18"`, " 0 ", "NaN", "-0", "[1]", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		before := Some(DBFS(-1))
		m := before
		if err := json.Unmarshal([]byte(text), &m); err != nil {
			if m != before {
				t.Fatalf("%+v beside the error %v", m, err)
			}
			return
		}
		p, err := json.Marshal(m)
		if err != nil {
			t.Fatalf("%q was read as %+v, which cannot be written: %v", text, m, err)
		}
		var again Maybe[DBFS]
		if err := json.Unmarshal(p, &again); err != nil || again != m {
			t.Fatalf("%q: got %+v, %v from %s, want %+v", text, again, err, p, m)
		}
	})
}
