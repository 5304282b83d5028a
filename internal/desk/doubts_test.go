package desk

import "testing"

func TestALineInDoubtOnceStaysInDoubt(t *testing.T) {
	d := doubts{source: []bool{false, false}, line: map[int]bool{}}
	d.add(solo{doubt: map[int]bool{0: true, 1: false}})
	d.add(solo{doubt: map[int]bool{0: false, 1: false}})
	if !d.of(0, 0, 1) {
		t.Error("line 0 counts as certain, though one recording's file for it may be another line's")
	}
	if d.of(1, 0, 1) {
		t.Error("line 1 counts as doubtful, though none of its files is")
	}
}
