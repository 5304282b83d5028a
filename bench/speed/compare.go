package main

import (
	"fmt"
	"path/filepath"
)

// scaled is a length in seconds as this run wants it.
func scaled(seconds float64) float64 { return seconds * *scale }

// stereo makes a stereo file of a kind, unless it is there.
func (b *bench) stereo(kind string, rate int, seconds float64) (string, error) {
	path := filepath.Join(b.folder, fmt.Sprintf("%s %d Hz %g s.wav", kind, rate, seconds))
	return path, apart(kind, path, rate, seconds, 100)
}

// soloists are the programs that measure one file: ours by build, then others.
func (b *bench) soloists(file string) []contestant {
	var all []contestant
	for _, p := range b.builds {
		all = append(all, contestant{"Tidemark, " + p.name, func() (cost, error) { return once(p.ltp, nil, file) }})
	}
	return append(all,
		contestant{b.eb.Version, func() (cost, error) { return once(b.eb.Path, nil, file) }},
		contestant{b.ffmpeg.Version + " ebur128=peak=true", func() (cost, error) { return b.loudnessByFFmpeg(file) }},
		contestant{b.sox.Version + " stats (no loudness, no true peak)", func() (cost, error) { return once(b.sox.Path, nil, file, "-n", "stats") }})
}

func (b *bench) loudnessByFFmpeg(file string) (cost, error) {
	return once(b.ffmpeg.Path, nil, "-v", "error", "-nostdin", "-i", file, "-af", "ebur128=peak=true", "-f", "null", "-")
}

// against are figures of how many times faster ours (the first contestants, one a
// build) are than the others, in wall and in processor time.
func (b *bench) against(all []contestant, costs [][]cost, goals map[string][2]goal) []figure {
	var rows []figure
	ours := len(b.builds)
	for i := ours; i < len(all); i++ {
		for _, of := range []struct {
			name string
			of   func(cost) float64
		}{{"wall", wall}, {"processor", cpu}} {
			r := figure{what: fmt.Sprintf("%s time of %s / ours", of.name, all[i].name), goals: goals[all[i].name+" "+of.name]}
			for k := range ours {
				r.values = append(r.values, ratios(costs[i], costs[k], of.of))
			}
			rows = append(rows, r)
		}
	}
	return rows
}

// oneFile is part a.
func oneFile(b *bench) error {
	b.title("a. Loudness, range and true peak of one stereo file, one worker")
	for _, rate := range []int{48000, 96000} {
		seconds := scaled(600)
		file, err := b.stereo("mix", rate, seconds)
		if err != nil {
			return err
		}
		all := b.soloists(file)
		costs, err := race(*rounds, all...)
		if err != nil {
			return err
		}
		b.say("%g s of a mix, %g kHz / 24 bit\n", seconds, float64(rate)/1000)
		b.times(all, costs, seconds)
		var goals map[string][2]goal
		if rate == 48000 {
			goals = map[string][2]goal{b.ffmpeg.Version + " ebur128=peak=true wall": {atLeast(6), atLeast(16)}}
		}
		b.figures(b.against(all, costs, goals))
	}
	return nil
}

// worstCase is part b.
func worstCase(b *bench) error {
	b.title("b. Worst case: clipped white noise")
	seconds := scaled(300)
	file, err := b.stereo("clipped white noise", 48000, seconds)
	if err != nil {
		return err
	}
	all := b.soloists(file)[:len(b.builds)+1]
	costs, err := race(*rounds, all...)
	if err != nil {
		return err
	}
	b.say("%g s of stereo, 48 kHz / 24 bit\n", seconds)
	b.times(all, costs, seconds)
	b.figures(b.against(all, costs, map[string][2]goal{b.eb.Version + " wall": {atLeast(2), atLeast(8)}}))
	return nil
}

// check is a whole check of a session, apart the same without the work between
// lines: every meter on every file, no judging.
func (p build) check(s session) (cost, error) {
	return once(p.tidemark, side(), "check", "--json", "--workers", fmt.Sprint(*workers), s.folder)
}

func (p build) apart(s session) (cost, error) {
	return once(p.alone, side(), fmt.Sprint(*workers), s.folder)
}

// measure is the program itself on the files, one by one: for its memory.
func (p build) measure(s session) (cost, error) {
	return once(p.tidemark, side(), append([]string{"measure", "--json"}, s.files...)...)
}

// side lets our program use as many processors as the others have processes.
func side() []string { return []string{fmt.Sprintf("GOMAXPROCS=%d", *workers)} }

// wholeCheck is part c.
func wholeCheck(b *bench) error {
	b.title("c. The full check of a session")
	s, err := makeSession(b.folder, 24, scaled(240), 96000)
	if err != nil {
		return err
	}
	var all []contestant
	for _, p := range b.builds {
		all = append(all, contestant{"Tidemark without work between lines, " + p.name, func() (cost, error) { return p.apart(s) }})
	}
	all = append(all,
		contestant{b.eb.Version, func() (cost, error) {
			return sideBySide(*workers, s.files, func(f string) (cost, error) { return once(b.eb.Path, nil, f) })
		}},
		contestant{b.ffmpeg.Version + " ebur128=peak=true", func() (cost, error) { return sideBySide(*workers, s.files, b.loudnessByFFmpeg) }})
	if ssl, ok := optional("openssl"); ok {
		all = append(all, contestant{"openssl dgst -sha256 (for information)", func() (cost, error) {
			return sideBySide(*workers, s.files, func(f string) (cost, error) { return once(ssl.Path, nil, "dgst", "-sha256", f) })
		}})
	}
	faster := len(all) // with sha256sum the goal is the other way round
	sha, hasSHA := optional("sha256sum")
	if hasSHA {
		all = append(all, contestant{"sha256sum", func() (cost, error) {
			return sideBySide(*workers, s.files, func(f string) (cost, error) { return once(sha.Path, nil, f) })
		}})
	}
	others := len(all)
	for _, p := range b.builds {
		all = append(all, contestant{"Tidemark, whole check, " + p.name, func() (cost, error) { return p.check(s) }})
	}
	costs, err := race(*rounds, all...)
	if err != nil {
		return err
	}
	b.say("24 lines of %g s, 96 kHz / 24 bit, %.0f MB\n", s.seconds, float64(s.bytes)/1e6)
	b.times(all, costs, 24*s.seconds)
	rows := b.against(all[:faster], costs[:faster], map[string][2]goal{
		b.eb.Version + " wall":                            {atLeast(3), atLeast(9)},
		b.ffmpeg.Version + " ebur128=peak=true processor": {atLeast(3), atLeast(10)},
	})
	if hasSHA {
		rows = append([]figure{{what: "full check without work between lines / sha256sum, wall time", goals: [2]goal{atMost(1.2), atMost(0.45)}},
			{what: "the same, processor time"}}, rows...)
		for k := range b.builds {
			rows[0].values = append(rows[0].values, ratios(costs[k], costs[faster], wall))
			rows[1].values = append(rows[1].values, ratios(costs[k], costs[faster], cpu))
		}
	}
	for _, of := range []struct {
		name string
		of   func(cost) float64
		goal goal
	}{{"wall", wall, atMost(0.25)}, {"processor", cpu, goal{}}} {
		r := figure{what: "work between lines / full check without it, " + of.name + " time", goals: [2]goal{of.goal, of.goal}}
		for k := range b.builds {
			with, without := costs[others+k], costs[k]
			x := make([]float64, len(with))
			for i := range with {
				x[i] = of.of(with[i])/of.of(without[i]) - 1
			}
			r.values = append(r.values, spreadOf(x))
		}
		rows = append(rows, r)
	}
	b.figures(rows)
	return nil
}
