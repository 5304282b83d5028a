package unit

import (
	"encoding/json"
	"math"
	"testing"
)

// AES17-2020, definition of 0 dBFS (from memory): the RMS of a full-scale sine
// reads 0 dBFS, that of a full-scale square wave +3.01 dBFS.
func TestMeanSquareFollowsAES17(t *testing.T) {
	for _, c := range []struct {
		name string
		p    float64
		want float64
	}{
		{"full-scale sine", 0.5, 0},
		{"full-scale square wave", 1, 3.0103},
		{"sine 20 dB under full scale", 0.005, -20},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, ok := MeanSquare(c.p).Get()
			if !ok || math.Abs(float64(got)-c.want) > 1e-4 {
				t.Errorf("MeanSquare(%g) = %v %v, want %g", c.p, got, ok, c.want)
			}
		})
	}
}

func TestSilenceIsUndefinedAndNullInJSON(t *testing.T) {
	for name, m := range map[string]Maybe[DBFS]{
		"no power": MeanSquare(0), "no amplitude": Amplitude[DBFS](0),
		"not a number": MeanSquare(math.NaN()), "infinite": MeanSquare(math.Inf(1)),
	} {
		if m.Defined() {
			t.Errorf("%s: defined, want undefined", name)
		}
		if b, err := json.Marshal(m); err != nil || string(b) != "null" {
			t.Errorf("%s: JSON %s %v, want null", name, b, err)
		}
	}
	b, _ := json.Marshal(Some(DBFS(-18.5)))
	if string(b) != "-18.5" {
		t.Errorf("JSON %s, want -18.5", b)
	}
	var back Maybe[DBFS]
	if err := json.Unmarshal(b, &back); err != nil || back != Some(DBFS(-18.5)) {
		t.Errorf("read back %v %v", back, err)
	}
}

func TestRatios(t *testing.T) {
	if got := Ratio(DB(20)); math.Abs(got-10) > 1e-12 {
		t.Errorf("Ratio(20 dB) = %g, want 10", got)
	}
	if got := PowerRatio(DB(-10)); math.Abs(got-0.1) > 1e-12 {
		t.Errorf("PowerRatio(-10 dB) = %g, want 0.1", got)
	}
}
