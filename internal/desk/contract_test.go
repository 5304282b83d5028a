package desk_test

import (
	"context"
	"encoding/json"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"tidemark/internal/desk"
	"tidemark/internal/disk"
	"tidemark/internal/meter"
	"tidemark/internal/model"
	"tidemark/internal/unit"
)

// contract is what programs that read tidemark.check/1 may rely on: a path and
// the type of its value. number? may be null where the measure does not exist.
const contract = `
schema                                text
folder                                text
true_peak_by                          text
passes[]                              list
lines[]                               list
lines[].number                        number
lines[].source                        text
lines[].mic                           text
lines[].file                          text
lines[].pass                          text
lines[].format.rate_hz                number
lines[].format.bits                   number
lines[].format.channels               number
lines[].format.duration_s             number
lines[].format.time_reference_s       number?
lines[].levels.peak_dbfs              number?
lines[].levels.true_peak_dbtp         number?
lines[].levels.rms_dbfs               number?
lines[].levels.crest_db               number?
lines[].levels.loudness_lufs          number?
lines[].levels.loudness_range_lu      number?
lines[].levels.floor_dbfs             number?
lines[].levels.usual_low_dbfs         number?
lines[].levels.usual_high_dbfs        number?
lines[].levels.headroom_db            number?
lines[].levels.dc                     number?
pairs[]                               list
pairs[].a                             text
pairs[].b                             text
pairs[].on                            text
pairs[].delay_ms                      number?
pairs[].delay_samples                 number?
pairs[].distance_cm                   number?
pairs[].polarity                      text
pairs[].coherence                     number?
pairs[].correlation                   number?
pairs[].mono_loss_db                  number?
findings[]                            list
findings[].kind                       text
findings[].weight                     text
findings[].lines[]                    list
findings[].files[]                    list
findings[].start_s                    number?
findings[].end_s                      number?
findings[].value                      number?
findings[].unit                       text
findings[].limit                      number?
findings[].count                      number
findings[].evidence                   text
findings[].advice                     text
`

// at collects every value that stands at a path of an object: "lines[].mic".
// present is false where an object on the way lacks the name.
func at(v any, path string) (values []any, present bool) {
	if path == "" {
		return []any{v}, true
	}
	name, rest, _ := strings.Cut(path, ".")
	name, list := strings.CutSuffix(name, "[]")
	m, ok := v.(map[string]any)
	if !ok {
		return nil, false
	}
	inner, ok := m[name]
	if !ok {
		return nil, false
	}
	if !list || rest == "" {
		return at(inner, rest)
	}
	elements, ok := inner.([]any)
	if !ok {
		return nil, false
	}
	for _, e := range elements {
		more, ok := at(e, rest)
		if !ok {
			return nil, false
		}
		values = append(values, more...)
	}
	return values, true
}

func isOfType(v any, kind string) bool {
	switch x := v.(type) {
	case nil:
		return kind == "number?"
	case float64:
		return (kind == "number" || kind == "number?") && !math.IsNaN(x) && !math.IsInf(x, 0)
	case string:
		return kind == "text"
	case bool:
		return kind == "true or false"
	case []any:
		return kind == "list"
	}
	return false
}

// contractHolds demands every path of the contract of a check.
func contractHolds(t *testing.T, m map[string]any) {
	t.Helper()
	for line := range strings.Lines(strings.TrimSpace(contract)) {
		path, kind, _ := strings.Cut(strings.TrimSpace(line), " ")
		kind = strings.TrimSpace(kind)
		if kind == "list" {
			if before, _, nested := cutLast(path, "[]."); nested && strings.HasSuffix(path, "[]") {
				parents, _ := at(m, before+"[]")
				for _, p := range parents {
					for _, e := range p.([]any) {
						if _, ok := e.(map[string]any)[strings.TrimSuffix(path[len(before)+3:], "[]")].([]any); !ok {
							t.Errorf("%s is no list in %v", path, e)
						}
					}
				}
				continue
			}
		}
		values, ok := at(m, path)
		if !ok {
			t.Errorf("%s is not in every object", path)
			continue
		}
		for _, v := range values {
			if !isOfType(v, kind) {
				t.Errorf("%s is %v, want %s", path, v, kind)
				break
			}
		}
	}
	for _, word := range []struct {
		path string
		may  []string
	}{
		{"pairs[].polarity", []string{"same", "opposite", "unclear"}},
		{"findings[].weight", []string{"stop", "listen", "note"}},
		{"schema", []string{"tidemark.check/1"}},
	} {
		values, _ := at(m, word.path)
		for _, v := range values {
			if s, _ := v.(string); !slices.Contains(word.may, s) {
				t.Errorf("%s is %v, want one of %v", word.path, v, word.may)
			}
		}
	}
}

func cutLast(s, sep string) (before, after string, ok bool) {
	i := strings.LastIndex(s, sep)
	if i < 0 {
		return s, "", false
	}
	return s[:i], s[i+len(sep):], true
}

// fieldsOf lists the paths of all plain values of an object, as the schema
// writes them. null is a number that does not exist.
func fieldsOf(v any, path string, into map[string]string) {
	put := func(kind string) {
		if old := into[path]; old == "" || old == "null" {
			into[path] = kind
		} else if old != kind && kind != "null" {
			into[path] = old + " and " + kind
		}
	}
	switch x := v.(type) {
	case map[string]any:
		for name, inner := range x {
			sub := name
			if path != "" {
				sub = path + "." + name
			}
			fieldsOf(inner, sub, into)
		}
	case []any:
		path += "[]"
		for _, e := range x {
			fieldsOf(e, path, into)
		}
	case string:
		put("text")
	case bool:
		put("true or false")
	case float64:
		put("number")
	case nil:
		put("null")
	}
}

// described is a schema's text as paths and types.
func described(t *testing.T, name string) map[string]string {
	t.Helper()
	fields := map[string]string{}
	i := slices.IndexFunc(desk.Schemas, func(s desk.Schema) bool { return s.Name == name })
	if i < 0 {
		t.Fatalf("no schema %s", name)
	}
	for line := range strings.Lines(desk.Schemas[i].Describe()) {
		if path, kind, ok := strings.Cut(strings.TrimSpace(line), "\t"); ok {
			if fields[path] != "" {
				t.Errorf("%s describes %s twice", name, path)
			}
			fields[path] = kind
		}
	}
	return fields
}

// schemaIs demands that a schema describes the fields of an object, no more and
// no fewer, each with its type.
func schemaIs(t *testing.T, name string, m map[string]any) {
	t.Helper()
	got, want := map[string]string{}, described(t, name)
	fieldsOf(m, "", got)
	if diff := cmp.Diff(slices.Sorted(maps.Keys(want)), slices.Sorted(maps.Keys(got))); diff != "" {
		t.Errorf("%s: fields that are only described (−) or only written (+):\n%s", name, diff)
	}
	for path, kind := range got {
		if kind == "null" && want[path] == "number?" || kind == strings.TrimSuffix(want[path], "?") {
			continue
		}
		t.Errorf("%s: %s is %s, described as %s", name, path, kind, want[path])
	}
}

// noNulls demands that nothing but a number is null, lists least of all.
func noNulls(t *testing.T, m map[string]any, schema string, mayBeNull ...string) {
	t.Helper()
	kinds := described(t, schema)
	var walk func(v any, path string)
	walk = func(v any, path string) {
		switch x := v.(type) {
		case nil:
			if kinds[path] != "number?" && !slices.Contains(mayBeNull, path) {
				t.Errorf("%s is null", path)
			}
		case map[string]any:
			for name, inner := range x {
				walk(inner, strings.TrimPrefix(path+"."+name, "."))
			}
		case []any:
			for _, e := range x {
				walk(e, path+"[]")
			}
		}
	}
	walk(m, "")
}

func TestTheChecksJSONKeepsItsContract(t *testing.T) {
	if testing.Short() {
		t.Skip("checks the band")
	}
	t.Parallel()
	dir := sessionFolder(t)
	// Something of everything: a problem of the list, and a file with a time.
	write(t, dir+"/Input list.csv", []byte("Ch,Source,Mic\n1,Kick in,a\n2,Kick out,b\n3,Snr top,c\n4,Snr bot,c\n5,HH,\n6,Rack tom,\n7,Floor tom,\n8,OH L,\n9,OH R,\n"+
		"13,Bass DI,\n14,Bass amp,\n15,EG amp,\n16,Acoustic gtr,\n17,Accordion,\n20,Ld vox,\n20,Ld vox,\n21,Zither,\n"))
	put(t, dir, "", file{name: "Quiet_01.wav", channels: [][]float32{make([]float32, 48000)}, startS: 3600})
	c := checkFolder(t, dir)
	m := object(t, c)
	if c.List == nil || len(c.List.Problems) == 0 || c.LineCheck == nil || len(c.LineCheck.Sources) == 0 || len(c.Refused) == 0 || len(c.Pairs) == 0 {
		t.Fatalf("not something of everything: list %+v, line check %+v, %d refused, %d pairs", c.List, c.LineCheck, len(c.Refused), len(c.Pairs))
	}
	contractHolds(t, m)
	schemaIs(t, desk.CheckSchema, m)
	noNulls(t, m, desk.CheckSchema)
}

// Where there is little to say, lists are empty and not missing.
func TestAnEmptyListIsNoNull(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, list string
		files      []file
		null       []string
	}{
		{"without a list", "", fourFiles(2), []string{"list", "line_check"}},
		{"with a list", fourLines, fourFiles(2), []string{"line_check"}},
		{"with missing lines", fourLines, fourFiles(2)[:1], []string{"line_check"}},
		{"silence", fourLines, []file{{name: "Organ_01.wav", channels: [][]float32{make([]float32, 96000)}}}, []string{"line_check"}},
		{"no frame at all", fourLines, []file{{name: "Organ_01.wav", channels: [][]float32{{}}}}, []string{"line_check"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			put(t, dir, c.list, c.files...)
			got := checkFolder(t, dir)
			m := object(t, got)
			contractHolds(t, m)
			noNulls(t, m, desk.CheckSchema, c.null...)
			if c.list == "" {
				for _, l := range got.Lines {
					if l.Source == "" || l.Number != 0 {
						t.Errorf("%s is line %d %q, want it named after its file and without a number", l.File, l.Number, l.Source)
					}
				}
			}
		})
	}
}

func TestTheMeasurementsJSONIsAsItsSchemaSays(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	put(t, dir, "", file{name: "Mix.wav", channels: [][]float32{notes(1, 48000, 4), notes(2, 48000, 4)}, startS: 3600})
	spoil(t, dir, func(p []byte) []byte { return p[:len(p)/2] })
	write(t, dir+"/Notes.wav", []byte("not a recording"))
	lib, err := disk.OpenFolder(dir)
	if err != nil {
		t.Fatal(err)
	}
	got, err := desk.MeasureFiles(context.Background(), lib, meter.Options{}, 2, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Files) != 5 || len(got.Refused) != 1 {
		t.Fatalf("%d files measured and %d refused, want 5 and 1", len(got.Files), len(got.Refused))
	}
	m := object(t, got)
	schemaIs(t, desk.MeasureSchema, m)
	noNulls(t, m, desk.MeasureSchema)
}

// Numbers in words and in JSON say one thing: what JSON cannot write is null.
func TestWhatDoesNotExistIsNull(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	put(t, dir, fourLines, append(fourFiles(2)[:3], file{name: "Ld vox_01.wav", channels: [][]float32{make([]float32, 96000)}})...)
	c := checkFolder(t, dir)
	l := lineNumbered(t, c, 4).Levels
	for name, v := range map[string]unit.Maybe[float64]{"peak": l.PeakDBFS, "true peak": l.TruePeakDBTP, "RMS": l.RMSDBFS, "loudness": l.LoudnessLUFS, "crest": l.CrestDB} {
		if v.Defined() {
			t.Errorf("digital silence has a %s of %v", name, v)
		}
	}
	p, err := json.Marshal(c)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(p), `"source":"Ld vox"`) || !strings.Contains(string(p), `"peak_dbfs":null`) {
		t.Error("the silent line's peak is not null")
	}
	if f := one(t, c, model.KindDead); f.Weight != model.Stop || f.Lines[0] != "4 Ld vox" {
		t.Errorf("%s on %v, want a stop on the silent voice", f.Weight, f.Lines)
	}
}
