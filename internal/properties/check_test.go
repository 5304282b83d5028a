package properties

import (
	"context"
	"encoding/json"
	"io"
	"slices"
	"strings"
	"testing"

	"tidemark/internal/desk"
	"tidemark/internal/sound"
)

// FuzzCheck: whatever the list says and whatever lies in a folder under whatever
// names, the check ends in a result that can be written, with findings whose ids
// are there once, or in a sentence.
func FuzzCheck(f *testing.F) {
	x := [][]float32{make([]float32, 9000), make([]float32, 9000)}
	for i := range x[0] {
		x[0][i] = float32(i%200)/200 - 0.5
		x[1][(i+40)%9000] = -x[0][i] / 2
	}
	t := new(testing.T)
	whole := wavForm("WAV", sound.Integer, 16).write(t, 8000, x)
	coded := flacForm(16).write(t, 8000, x[:1])
	f.Add("ch,source\n1,Snare top\n2,Snare bottom\n3/4,OH\n", "Snare top_01.wav\nSnare bottom_01.wav\nOH_01.wav", "", whole[:9000], coded, false)
	f.Add("1;Kick\n2;Vox\n", "01_Kick.wav\n01_Kick copy.wav\n03.flac", "03.flac=2", coded, whole, true)
	f.Add("", "a\nb\nc", "a:2=none", whole, []byte("RIFF"), true)
	f.Add("ch,source\n1,Bass DI\n", "Bass DI_T1.wav\nBass DI_T2.wav", "", slices.Concat([]byte("ID3\x04\x00\x00\x00\x00\x00\x00"), coded), whole[:60], false)
	f.Fuzz(func(t *testing.T, list, names, word string, one, two []byte, alone bool) {
		lib := memory{}
		for i, name := range strings.SplitN(names, "\n", 6) {
			lib[name] = [][]byte{one, two, whole}[i%3]
		}
		req := desk.CheckRequest{Recordings: lib, Workers: 1}
		if list != "" {
			req.List = &desk.Document{Name: "list", Size: int64(len(list)), ReaderAt: strings.NewReader(list)}
		}
		if word != "" {
			req.Overrides = []string{word}
		}
		if alone {
			req.Alone = memory{"Kick/a.wav": whole, "Vox/a.wav": one, "a.wav": two}
		}
		for _, p := range [][]byte{one, two} {
			if len(p) > 1<<15 {
				return
			}
		}
		c, err := desk.CheckPass(context.Background(), req)
		if err != nil {
			if strings.TrimSpace(err.Error()) == "" || c.Schema != "" {
				t.Fatalf("%+v with the error %q", c, err)
			}
			return
		}
		if err := json.NewEncoder(io.Discard).Encode(c); err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, x := range c.Findings {
			if x.ID == "" || seen[x.ID] || x.Evidence == "" {
				t.Errorf("finding %q is there twice, or says nothing: %+v", x.ID, x)
			}
			seen[x.ID] = true
		}
		if len(c.Lines) == 0 && len(c.Refused) == 0 {
			t.Error("nothing was checked, and nothing refused")
		}
	})
}
