package inputlist

import (
	"strings"

	"tidemark/internal/model"
)

// The fields of a line, as --columns and Column.Field name them.
const (
	fieldNumber    = "number"
	fieldSource    = "source"
	fieldMic       = "mic"
	fieldStand     = "stand"
	fieldTieLine   = "tieline"
	fieldPreamp    = "preamp"
	fieldGain      = "gain"
	fieldPhantom   = "phantom"
	fieldPad       = "pad"
	fieldFilter    = "filter"
	fieldPolarity  = "polarity"
	fieldInsert    = "insert"
	fieldDesk      = "desk"
	fieldReturn    = "return"
	fieldConverter = "converter"
	fieldTrack     = "track"
	fieldSpace     = "space"
	fieldPerformer = "performer"
	fieldNotes     = "notes"
)

// Fields are the names that a column can be given, in the order of a line's
// path from source to track.
var Fields = []string{
	fieldNumber, fieldSource, fieldMic, fieldStand, fieldTieLine, fieldPreamp, fieldGain, fieldPhantom, fieldPad,
	fieldFilter, fieldPolarity, fieldInsert, fieldDesk, fieldReturn, fieldConverter, fieldTrack, fieldSpace, fieldPerformer, fieldNotes,
}

// headerNames are the names a column goes under, likeliest first: of two
// columns that could be one field, the name further left here wins it. A name
// in two fields ("line") goes to the first that has no better column. The last
// names of a field are those of neighbours: German, Spanish, French, Italian,
// without accents.
var headerNames = []struct{ field, names string }{
	{fieldNumber, "ch, channel, number, nr, no, num, input, inp, in, line, ch no, channel no, input no, line no, input number, channel number, inputs, chan, id, pos, kanal, kanal nr, kan, eingang, canal, entrada, voie, canale"},
	{fieldSource, "source, instrument, inst, instr, sources, instruments, what, signal, description, desc, name, input name, input source, line name, channel name, source name, instrument name, source instrument, instrument source, inst source, quelle, bezeichnung, fuente, instrumento, instrumentos, sorgente, strumento"},
	{fieldMic, "mic, mike, microphone, mics, mikes, microphones, mic di, di mic, mic or di, mike di, transducer, model, mic type, mic model, mic name, mic used, microphone di, microphone type, capsule, mikrofon, mikrofone, mikrophon, mikro, microfono, microfonos, micro, micros"},
	{fieldStand, "stand, stnd, boom, stands, mic stand, stand type, stand boom, stativ, stander, pie, soporte, pied, asta"},
	{fieldTieLine, "tie line, tieline, tl, tie, tie lines, snake, wall, wall box, panel, stage box, stagebox, box, patch, multicore, multi, loom, line, box line, wall panel, snake ch, socket, jack"},
	{fieldPreamp, "pre, preamp, pre amp, preamps, mic pre, micpre, mic preamp, head amp, amp, head, pre used, preamplifier, vorverstarker, previo, preampli"},
	{fieldGain, "gain, trim, pre gain, preamp gain, gain db, pegel, ganancia"},
	{fieldPhantom, "+48, 48v, +48v, phantom, 48, ph, p48, phantom power, phantom 48v, 48 v, +48 v, phant, ph 48v, speisung, phantomspeisung, fantasma, alimentacion phantom, fantome"},
	{fieldPad, "pad, -10, -20, -10 db, -20 db, -15, pad db, pads"},
	{fieldFilter, "hpf, lo cut, low cut, locut, lowcut, filter, hp, high pass, lc, hpf hz, roll off, rolloff"},
	{fieldPolarity, "pol, polarity, flip, phase, pol flip, polarity flip, inv, invert, ø, rev, reverse, polaritat, phasendreher, polaridad, fase"},
	{fieldInsert, "insert, ins, inserts, comp, eq, dyn, outboard, dynamics, compressor, limiter, outboard insert, comp eq, eq comp, gate, processing"},
	{fieldDesk, "desk, console, ch strip, channel strip, strip, fader, send, input side, desk ch, console ch, desk channel, console channel, desk input, desk in"},
	{fieldReturn, "ret, return, returns, monitor, tape return, mon, monitor return, return ch, tape ret"},
	{fieldConverter, "ad, adc, a d, conv, converter, interface in, interface, converter in, interface input, ad in, converter ch, adc in, ad ch"},
	{fieldTrack, "track, trk, tracks, file name, filename, file, name in recorder, recorder, track name, recorder track, rec track, rec, recorder name, tr, rec trk, name on track, spur, spuren, pista, piste, traccia"},
	{fieldSpace, "room, rm, booth, iso, location, space, loc, where, position, area, placement, iso booth, raum, sala, ubicacion, lieu"},
	{fieldPerformer, "performer, player, musician, artist, who, players, musicians, played by, musiker, spieler, musico, musicien, musicista"},
	{fieldNotes, "notes, note, remarks, remark, comment, comments, memo, info, misc, bemerkung, bemerkungen, anmerkung, anmerkungen, notiz, notizen, kommentar, notas, observaciones, comentarios, remarque, remarques"},
}

// gathers are the fields that several columns may hold together ("comp", "EQ").
var gathers = map[string]bool{fieldInsert: true, fieldNotes: true, fieldPad: true, fieldTieLine: true}

// headerTable maps a normal header to the fields it may name, each with the
// rank of the name in its field's row.
var headerTable = func() map[string][]named {
	m := map[string][]named{}
	for _, h := range headerNames {
		for rank, n := range strings.Split(h.names, ", ") {
			m[n] = append(m[n], named{h.field, rank})
		}
	}
	return m
}()

type named struct {
	field string
	rank  int
}

// fillerHeaders are words that add nothing to a header: "Mic type", "Preamp
// used", "Track #".
var fillerHeaders = map[string]bool{
	"type": true, "name": true, "names": true, "model": true, "used": true, "no": true, "nr": true, "number": true,
	"the": true, "to": true, "of": true, "num": true, "y": true, "n": true, "on": true, "off": true, "choice": true,
}

// normalHeader is a header without case, accents and punctuation: "Ch.:" → ch,
// "Mic/DI" → mic di. A sign before a number stays, since "-10" is a pad and 10
// a number; "#" is "no".
func normalHeader(s string) string {
	var b strings.Builder
	text := []rune(model.Fold(s))
	for i, r := range text {
		digit := func(j int) bool { return j < len(text) && text[j] >= '0' && text[j] <= '9' }
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case r == '#' || r == '№' || r == 'º' && i > 0 && text[i-1] == 'n':
			b.WriteString(" no ")
		case (r == '-' || r == '−' || r == '–') && digit(i+1) && (i == 0 || text[i-1] == ' '):
			b.WriteByte('-')
		case r == '+' && digit(i+1):
			b.WriteByte('+')
		case r > 127 && r != '–' && r != '—':
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// fieldsOf says what a header may name, best first; nil for an unknown one.
func fieldsOf(header string) []named {
	h := normalHeader(header)
	if h == "" || len(h) > 40 {
		return nil
	}
	if f, ok := headerTable[h]; ok {
		return f
	}
	if f, ok := headerTable[strings.ReplaceAll(h, " ", "")]; ok {
		return f
	}
	var kept []string
	for _, w := range strings.Fields(h) {
		if !fillerHeaders[w] {
			kept = append(kept, w)
		}
	}
	if len(kept) == 0 || len(kept) == len(strings.Fields(h)) {
		return nil
	}
	f := headerTable[strings.Join(kept, " ")]
	out := make([]named, len(f))
	for i, n := range f {
		out[i] = named{n.field, n.rank + 50} // a name with fillers gives way to a plain one
	}
	return out
}

// headerScore counts the different fields that a row's cells name.
func headerScore(r gridRow) int {
	seen := map[string]bool{}
	for _, c := range r.cells {
		for _, n := range fieldsOf(c) {
			if !seen[n.field] {
				seen[n.field] = true
				break
			}
		}
	}
	return len(seen)
}

// headerSearch is how far down headers are looked for: titles, dates and an
// address stand above them.
const headerSearch = 60

// findHeader returns the index of the row of headers, −1 without one. It is
// the first row that names nearly as many fields as the best one, at least two,
// and more of them than not.
func findHeader(rows []gridRow) int {
	best := 0
	n := min(len(rows), headerSearch)
	for _, r := range rows[:n] {
		best = max(best, headerScore(r))
	}
	for i, r := range rows[:n] {
		if s := headerScore(r); s >= 2 && s*5 >= best*4 && s*2 >= r.filled() && !dataLike(r) {
			return i
		}
	}
	return -1
}

// dataLike says whether a row has a plain number in it, as headers have not
// ("48" alone excepted).
func dataLike(r gridRow) bool {
	for _, c := range r.cells {
		if n := parseNumber(c); n.ok && normalHeader(c) != "48" {
			return true
		}
	}
	return false
}

// joinHeader adds a second header row to the first where it only names more
// columns ("Mic" over "type | stand"), and says whether it did.
func joinHeader(first, second gridRow) ([]string, bool) {
	out := append([]string(nil), first.cells...)
	if second.filled() == 0 || dataLike(second) {
		return out, false
	}
	adds := 0
	for i, c := range second.cells {
		if c == "" {
			continue
		}
		top := first.cell(i)
		both := strings.TrimSpace(top + " " + c)
		switch {
		case top == "" && fieldsOf(c) != nil, fieldsOf(top) == nil && fieldsOf(both) != nil:
			adds++
		case top != "" && fieldsOf(both) != nil:
		case strings.HasPrefix(c, "("):
			both = top
		default:
			return first.cells, false // a cell that is no header: a line
		}
		for len(out) <= i {
			out = append(out, "")
		}
		out[i] = both
	}
	return out, adds > 0
}
