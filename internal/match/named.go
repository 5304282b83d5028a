package match

import (
	"fmt"
	"strings"

	"tidemark/internal/model"
)

// Named makes lines out of the files' own names, for a folder without an input
// list, and gives every channel to its line. Two takes of one name are one
// line; a stereo file is two lines, a file of many channels one line a channel.
// Copies are left without a line.
func Named(recs []model.Recording, passes []model.Pass) ([]model.Line, []Result) {
	var lines []model.Line
	index := map[string]int{}
	lineOf := func(source string) int {
		key := strings.ToLower(source)
		if i, ok := index[key]; ok {
			return i
		}
		index[key] = len(lines)
		lines = append(lines, model.Line{Source: source, Typed: source, Track: source, Partner: -1})
		return len(lines) - 1
	}
	results := make([]Result, len(passes))
	for p, pass := range passes {
		sources := plainNames(recs, pass)
		used := map[int]bool{}
		for m, member := range pass.Members {
			rec := recs[member.Recording]
			for ch := range rec.Channels {
				found := model.Match{Recording: member.Recording, Channel: ch, Line: -1, RunnerUp: -1}
				if !member.Copy {
					i := lineOf(channelName(sources[m], rec, ch))
					if used[i] && !member.Punch { // the names do not tell two files apart: say each in full
						i = lineOf(channelName(parseName(rec.Name).base, rec, ch))
					}
					used[i] = true
					found.Line, found.Certain, found.Score, found.By = i, true, 1, byTrack
				}
				results[p].Matches = append(results[p].Matches, found)
			}
		}
	}
	model.ReadSources(lines)
	for i := range lines {
		if l := &lines[i]; l.Side == model.Left {
			for j := range lines {
				if r := &lines[j]; r.Side == model.Right && r.Stem == l.Stem && r.Family == l.Family && r.Partner < 0 && l.Partner < 0 {
					l.Partner, r.Partner = j, i
				}
			}
		}
	}
	return lines, results
}

// plainNames are the names of a pass's members without numbers of takes, each
// with the number after it where two members would be called the same.
func plainNames(recs []model.Recording, pass model.Pass) []string {
	names := make([]fileName, len(pass.Members))
	count := map[string]int{}
	called := func(text string, f fileName) string {
		switch f.side {
		case model.Left:
			return text + " L"
		case model.Right:
			return text + " R"
		}
		return text
	}
	for m, member := range pass.Members {
		names[m] = parseName(recs[member.Recording].Name)
		if !member.Punch && !member.Copy {
			count[strings.ToLower(called(names[m].text, names[m]))]++
		}
	}
	out := make([]string, len(names))
	for m, f := range names {
		out[m] = called(f.text, f)
		switch {
		case f.text == "":
			out[m] = f.base
		case count[strings.ToLower(out[m])] > 1 && f.alt != "":
			out[m] = called(f.alt, f)
		}
	}
	return out
}

// channelName is what a channel of a recording is called.
func channelName(source string, rec model.Recording, ch int) string {
	switch {
	case ch < len(rec.ChannelNames) && strings.TrimSpace(rec.ChannelNames[ch]) != "":
		return strings.TrimSpace(rec.ChannelNames[ch])
	case rec.Channels == 1:
		return source
	case rec.Channels == 2:
		return source + [2]string{" L", " R"}[ch]
	}
	return fmt.Sprintf("%s %d", source, ch+1)
}
