package match

import (
	"math"
	"slices"
	"sort"
	"strings"

	"tidemark/internal/model"
)

// divide parts recordings without a time reference, or with one that tells
// nothing, by the keys from the given one on: 0 stamps in the names, 1
// origination times, 2 take numbers, 3 lengths, 4 file times.
func (p *passer) divide(at []int, key int) []run {
	if len(at) == 0 {
		return nil
	}
	switch key {
	case 0:
		if groups := p.byStamp(at); groups != nil {
			var runs []run
			for _, g := range groups {
				if p.collide(g) {
					runs = append(runs, p.divide(g, 1)...)
				} else {
					runs = append(runs, plainRun(g))
				}
			}
			return runs
		}
		return p.divide(at, 1)
	case 1:
		for _, i := range at {
			if p.recs[i].OriginS == 0 {
				return p.divide(at, 2)
			}
		}
		base := p.recs[at[0]].OriginS
		for _, i := range at {
			base = min(base, p.recs[i].OriginS)
		}
		return p.cluster(slices.Clone(at), func(i int) float64 { return float64(p.recs[i].OriginS - base) }, sameOriginS, true)
	case 2:
		if !p.collide(at) {
			return []run{plainRun(at)}
		}
		groups := p.byTake(at)
		if len(groups) < 2 {
			return p.divide(at, 3)
		}
		groups = p.gather(p.settle(groups))
		var runs []run
		for _, g := range groups {
			if p.collide(g) {
				runs = append(runs, p.divide(g, 3)...)
			} else {
				runs = append(runs, plainRun(g))
			}
		}
		return runs
	case 3:
		if !p.collide(at) {
			return []run{plainRun(at)}
		}
		var runs []run
		for _, g := range p.byLength(at) {
			if p.collide(g) {
				runs = append(runs, p.divide(g, 4)...)
			} else {
				runs = append(runs, plainRun(g))
			}
		}
		return runs
	}
	return p.byModified(at)
}

func plainRun(at []int) run {
	r := run{}
	for _, i := range at {
		r.members = append(r.members, model.Member{Recording: i})
	}
	return r
}

// byStamp parts by the date and time in the names, where all have one of one
// form and there is more to them than a date; nil else. Stamps a minute apart
// with equal lengths and no line twice are one run: the clock went on while
// the files were opened.
func (p *passer) byStamp(at []int) [][]int {
	groups := map[string][]int{}
	for _, i := range at {
		s := p.names[i].stamp
		if !strings.Contains(s, "_") {
			return nil
		}
		groups[s] = append(groups[s], i)
	}
	stamps := make([]string, 0, len(groups))
	for s := range groups {
		stamps = append(stamps, s)
	}
	sort.Strings(stamps)
	var out [][]int
	for n, s := range stamps {
		if n > 0 && stampSeconds(s)-stampSeconds(stamps[n-1]) <= 60 {
			both := append(slices.Clone(out[len(out)-1]), groups[s]...)
			if p.sameLength(both) && !p.collide(both) {
				out[len(out)-1] = both
				continue
			}
		}
		out = append(out, groups[s])
	}
	return out
}

// stampSeconds is the time of day of a stamp; days are far apart.
func stampSeconds(s string) int {
	date, clock, _ := strings.Cut(s, "_")
	for len(clock) < 6 {
		clock += "0"
	}
	return atoi(date)*100000 + atoi(clock[:2])*3600 + atoi(clock[2:4])*60 + atoi(clock[4:6])
}

// byTake parts by take number, in order of the numbers. Files without one are
// the run before the first.
func (p *passer) byTake(at []int) [][]int {
	groups := map[int][]int{}
	for _, i := range at {
		groups[p.names[i].take] = append(groups[p.names[i].take], i)
	}
	takes := make([]int, 0, len(groups))
	for t := range groups {
		takes = append(takes, t)
	}
	sort.Ints(takes)
	var out [][]int
	for _, t := range takes {
		out = append(out, groups[t])
	}
	return out
}

// settle moves recordings whose take counter differs from the others of their
// run: not as long as their take, but exactly as long as another that does not
// have their line.
func (p *passer) settle(groups [][]int) [][]int {
	usual := make([]int64, len(groups))
	for g, at := range groups {
		usual[g] = p.usualLength(at)
	}
	for g := range groups {
		for _, i := range slices.Clone(groups[g]) {
			if p.recs[i].Frames == usual[g] {
				continue
			}
			for h := range groups {
				if h == g || usual[h] != p.recs[i].Frames || p.collide(append(slices.Clone(groups[h]), i)) {
					continue
				}
				groups[h] = append(groups[h], i)
				groups[g] = slices.DeleteFunc(groups[g], func(k int) bool { return k == i })
				break
			}
		}
	}
	return slices.DeleteFunc(groups, func(g []int) bool { return len(g) == 0 })
}

// gather joins takes of different lines that are equally long to the frame: one
// run, in which every line's counter stands elsewhere. Two runs that somebody
// started and stopped are never so. What in such a take has another length, and a
// line that the other has, stays behind as a take of its own.
func (p *passer) gather(groups [][]int) [][]int {
	for g := range groups {
		long := p.usualLength(groups[g])
		for h := g + 1; h < len(groups) && long > 0; h++ {
			if p.usualLength(groups[h]) != long {
				continue
			}
			part := slices.Clone(groups[h])
			if p.collide(append(slices.Clone(groups[g]), part...)) {
				part = slices.DeleteFunc(part, func(i int) bool { return p.recs[i].Frames != long })
				if p.collide(append(slices.Clone(groups[g]), part...)) {
					continue
				}
			}
			groups[g] = append(groups[g], part...)
			groups[h] = slices.DeleteFunc(groups[h], func(i int) bool { return slices.Contains(part, i) })
		}
	}
	return slices.DeleteFunc(groups, func(g []int) bool { return len(g) == 0 })
}

// usualLength is the length that most recordings have, the longer of two; of
// recordings that all differ, none.
func (p *passer) usualLength(at []int) int64 {
	counts := map[int64]int{}
	for _, i := range at {
		counts[p.recs[i].Frames]++
	}
	var best int64 = -1
	most := 0
	for f, n := range counts {
		if n > most || n == most && f > best {
			best, most = f, n
		}
	}
	if most == 1 && len(at) > 1 {
		return -1
	}
	return best
}

// byLength parts by equal length, in the order in which lengths appear.
func (p *passer) byLength(at []int) [][]int {
	var out [][]int
	for _, i := range at {
		g := slices.IndexFunc(out, func(g []int) bool { return p.sameLength([]int{g[0], i}) })
		if g < 0 {
			out = append(out, nil)
			g = len(out) - 1
		}
		out[g] = append(out[g], i)
	}
	return out
}

// byModified parts by file times; what still has a line twice is dealt out in
// the order of time and name, one of each line to a run.
func (p *passer) byModified(at []int) []run {
	at = slices.Clone(at)
	sort.SliceStable(at, func(a, b int) bool {
		x, y := p.recs[at[a]], p.recs[at[b]]
		if x.ModifiedS != y.ModifiedS {
			return x.ModifiedS < y.ModifiedS
		}
		return x.Name < y.Name
	})
	var groups [][]int
	for _, i := range at {
		put := false
		for g := range groups {
			last := groups[g][len(groups[g])-1]
			near := math.Abs(float64(p.recs[i].ModifiedS-p.recs[last].ModifiedS)) <= sameModifiedS
			if near && !p.collide(append(slices.Clone(groups[g]), i)) {
				groups[g], put = append(groups[g], i), true
				break
			}
		}
		if !put {
			groups = append(groups, []int{i})
		}
	}
	var runs []run
	for _, g := range groups {
		runs = append(runs, plainRun(g))
	}
	return runs
}

// joinByLength gives recordings without a time reference to the one timed run
// of exactly their length that has not their line; it returns the others.
func (p *passer) joinByLength(runs []run, rest []int) []int {
	var left []int
	for _, i := range rest {
		found := -1
		for k, r := range runs {
			all := append(recordings(r), i)
			if p.sameLength(all) && !p.collide(all) && p.names[i].take == p.commonTake(r, p.names[i].take) {
				if found >= 0 {
					found = -2
					break
				}
				found = k
			}
		}
		if found >= 0 {
			runs[found].members = append(runs[found].members, model.Member{Recording: i})
		} else {
			left = append(left, i)
		}
	}
	return left
}

// commonTake is the take number that a run's files share, or the given one
// where they differ.
func (p *passer) commonTake(r run, otherwise int) int {
	t := p.names[r.members[0].Recording].take
	for _, m := range r.members {
		if p.names[m.Recording].take != t {
			return otherwise
		}
	}
	return t
}
