package main

import (
	"fmt"
	"os"
)

// memory is part d.
func memory(b *bench) error {
	b.title("d. Memory")
	lines := 4
	if *hour {
		lines = 24
	}
	b.say("| lines | minutes | MB | without work between lines, MiB | goal | with it, MiB | goal |\n|---|---|---|---|---|---|---|")
	for _, seconds := range []float64{60, scaled(3600)} {
		s, err := makeSession(b.folder, lines, seconds, 48000)
		if err != nil {
			return err
		}
		without, err := b.best().measure(s)
		if err != nil {
			return err
		}
		with, err := b.best().check(s)
		if err != nil {
			return err
		}
		if err := b.remove(s); err != nil {
			return err
		}
		mib := func(c cost) float64 { return float64(c.rss) / (1 << 20) }
		b.say("| %d | %g | %.0f | %.1f | %s | %.1f | %s |", lines, seconds/60, float64(s.bytes)/1e6, mib(without), atMost(16).judge(mib(without)), mib(with), atMost(32).judge(mib(with)))
	}
	idle, err := once(b.best().tidemark, nil, "schema")
	if err != nil {
		return err
	}
	b.say("\nOne run each, 48 kHz / 24 bit, %s build, resident memory at its highest. The program that reads no sound\n(`tidemark schema`) shows %.1f.\n", b.best().name, float64(idle.rss)/(1<<20))
	return nil
}

// remove deletes a session's files, unless they are to be kept.
func (b *bench) remove(s session) error {
	if *dir != "" {
		return nil
	}
	return os.RemoveAll(s.folder)
}

// growth is part e.
func growth(b *bench) error {
	b.title("e. Growth")
	type size struct {
		lines   int
		minutes float64
	}
	for _, series := range []struct {
		by    string
		sizes []size
		of    func(size) float64
	}{
		{"lines", []size{{1, 1}, {2, 1}, {4, 1}, {8, 1}, {16, 1}, {24, 1}, {48, 1}}, func(s size) float64 { return float64(s.lines) }},
		{"minutes", []size{{8, 1}, {8, 2}, {8, 4}, {8, 8}}, func(s size) float64 { return s.minutes }},
	} {
		b.say("| lines | minutes | without work between lines, processor s | work between lines, processor s | whole check, wall s | memory MiB |\n|---|---|---|---|---|---|")
		var x, alone, pairs, whole []float64
		for _, size := range series.sizes {
			s, err := makeSession(b.folder, size.lines, scaled(60*size.minutes), 48000)
			if err != nil {
				return err
			}
			costs, err := race(*rounds,
				contestant{"alone", func() (cost, error) { return b.best().apart(s) }},
				contestant{"check", func() (cost, error) { return b.best().check(s) }})
			if err != nil {
				return err
			}
			if err := b.remove(s); err != nil {
				return err
			}
			between := make([]float64, *rounds)
			for i := range between {
				between[i] = costs[1][i].cpu - costs[0][i].cpu
			}
			a, p, w := spreadOf(each(costs[0], cpu)), spreadOf(between), spreadOf(each(costs[1], wall))
			m := spreadOf(each(costs[1], func(c cost) float64 { return float64(c.rss) / (1 << 20) }))
			b.say("| %d | %g | %v | %v | %v | %.0f |", size.lines, s.seconds/60, a, p, w, m.most)
			if series.by == "minutes" || size.lines >= 4 { // fewer lines have next to nothing between them
				x, alone, pairs, whole = append(x, series.of(size)), append(alone, a.median), append(pairs, p.median), append(whole, w.median)
			}
		}
		from := ""
		if series.by == "lines" {
			from = " (from 4 lines on)"
		}
		b.say("\nExponents over %s%s: without work between lines %.2f, work between lines %s, whole check %.2f (1: in proportion, 2: as the square).\n",
			series.by, from, exponent(x, alone), exponentGoal(series.by, exponent(x, pairs)), exponent(x, whole))
	}
	return nil
}

// exponentGoal holds the work between lines to less than the square of their number.
func exponentGoal(by string, e float64) string {
	if by != "lines" {
		return fmt.Sprintf("%.2f", e)
	}
	return fmt.Sprintf("%.2f (%s)", e, atMost(1.8).judge(e))
}
