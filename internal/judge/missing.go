package judge

import (
	"fmt"
	"path"
	"slices"
	"strings"
	"unicode"

	"tidemark/internal/model"
)

// missing finds lines of the list that have no file. A pass that holds half
// of the lines or more is a take of the band, and each line that it lacks is
// told; where a file of the pass is on no line and may be it, by a name that is
// nearly the line's or because as many files are on none, a person must look.
// Passes with fewer lines are overdubs or a line check: one note for all of them.
// Where there is no take but the overdubs together hold most lines, those that
// none of them has are told.
func missing(e *Evidence) []model.Finding {
	if !e.Listed {
		return nil
	}
	var out []model.Finding
	var partial []string
	anywhere, whole := map[int]bool{}, false
	for p, pass := range e.Passes {
		have, wanted, strays := map[int]bool{}, map[int]bool{}, 0
		var names []string // of the strays
		for i := range e.Tracks {
			t := &e.Tracks[i]
			switch {
			case t.Pass != p:
			case t.Line >= 0:
				have[t.Line], anywhere[t.Line] = true, true
			case !t.Copy:
				strays++
				wanted[t.Match.RunnerUp] = true
				names = append(names, e.name(t))
			}
		}
		if len(have) == 0 {
			continue
		}
		if 2*len(have) < len(e.Lines) {
			partial = append(partial, fmt.Sprintf("%s holds %d", pass.Name, len(have)))
			continue
		}
		whole = true
		missing := len(e.Lines) - len(have)
		for i := range e.Lines {
			if have[i] {
				continue
			}
			may := 0
			misspelt := slices.ContainsFunc(names, func(n string) bool { return nearly(n, e.Lines[i].Source) })
			if wanted[i] || misspelt || missing > 1 && strays >= missing {
				may = strays // names in another language, or none: they may be the lines
			}
			out = append(out, e.gone(i, pass.Name, may))
		}
	}
	if len(partial) == 0 {
		return out
	}
	f := model.Finding{ID: "missing/partial", Kind: model.KindMissing, Weight: model.Note, Lines: []string{}, Files: []string{}, Count: len(partial),
		Unit: "lines", LimitSource: "the input list"}
	f.Evidence = fmt.Sprintf("of the %d lines on the list, %s", len(e.Lines), strings.Join(partial, ", "))
	f.Advice = "fine for an overdub or a line check; if this was the whole band, see which tracks were not armed"
	for i, l := range e.Lines {
		if !whole && !anywhere[i] {
			f.Lines = append(f.Lines, l.Name())
		}
	}
	out = append(out, f)
	for i := range e.Lines {
		if !whole && !anywhere[i] && 2*len(anywhere) >= len(e.Lines) {
			f := e.gone(i, "", 0)
			f.Weight = lighter(f.Weight, model.Listen)
			out = append(out, f)
		}
	}
	return out
}

// lettersAWrong is how many letters of a source a slip of the finger may have
// changed: one in so many, and one at least where there are so many.
// Common practice, no source.
const lettersAWrong = 4

// nearly says whether a file's name holds the letters of a source with a few
// wrong, missing or too many; what else stands in the name counts for nothing.
// The table is that of the edit distance, free at both ends of the name.
func nearly(file, source string) bool {
	name, want := lettersOf(strings.TrimSuffix(file, path.Ext(file))), lettersOf(source)
	if len(want) < lettersAWrong {
		return false
	}
	least := len(want)
	above := make([]int, len(want)+1) // errors of each beginning of want, ending here in name
	for k := range above {
		above[k] = k
	}
	for _, c := range name {
		row := make([]int, len(want)+1)
		for k, w := range want {
			change := above[k]
			if c != w {
				change++
			}
			row[k+1] = min(change, above[k+1]+1, row[k]+1)
		}
		above = row
		least = min(least, row[len(want)])
	}
	return least <= len(want)/lettersAWrong
}

// lettersOf are the letters of a name, small.
func lettersOf(s string) []rune {
	var out []rune
	for _, c := range strings.ToLower(s) {
		if unicode.IsLetter(c) {
			out = append(out, c)
		}
	}
	return out
}

// gone is the finding about a line without a file in a pass, or in any.
func (e *Evidence) gone(line int, pass string, strays int) model.Finding {
	l := e.Lines[line]
	f := model.Finding{ID: "missing/" + pass + "/" + l.Name(), Kind: model.KindMissing, Weight: model.Stop, Pass: pass,
		Lines: []string{l.Name()}, Files: []string{}, Count: 1, Unit: "files", LimitSource: "the input list"}
	where := pass
	if pass == "" {
		where = "any pass"
	}
	f.Evidence = fmt.Sprintf("%s is on the list (row %d), and no file of %s is it", l.Name(), l.Row, where)
	f.Advice = "see whether its track was armed and named as on the list; if a file goes by another name, tell it with --match \"FILE=" + lineKey(l) + "\""
	if strays > 0 {
		f.Weight = model.Listen
		f.Evidence += "; " + count(strays, "track is on no line and may be it", "tracks are on no line and one may be it")
	}
	if MayBeSilent(l.Family) {
		f.Weight = model.Note
	}
	return f
}
