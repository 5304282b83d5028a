package kernel

import "testing"

func TestThePathCanBeForced(t *testing.T) {
	own := Path()
	if was := Portable(true); was {
		t.Error("portable was in force before anybody asked for it")
	}
	if got := Path(); got != "portable" {
		t.Errorf("forced, the path is %q, want portable", got)
	}
	if was := Portable(false); !was {
		t.Error("what was in force is not returned")
	}
	if got := Path(); got != own {
		t.Errorf("let go, the path is %q, want %q as at the start", got, own)
	}
}
