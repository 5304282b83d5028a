package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"time"
)

// cost is what a run took.
type cost struct {
	wall, cpu float64 // seconds; cpu of all processes and threads together
	rss       int64   // largest memory of any process, bytes
}

func wall(c cost) float64 { return c.wall }
func cpu(c cost) float64  { return c.cpu }

// contestant is something that is run again and again.
type contestant struct {
	name string
	run  func() (cost, error)
}

// race runs all in turn, A B A B, and returns their costs by contestant and
// round. One round before the first fills the page cache and is not counted.
func race(rounds int, all ...contestant) ([][]cost, error) {
	costs := make([][]cost, len(all))
	for round := range rounds + 1 {
		for i, c := range all {
			took, err := c.run()
			if err != nil {
				return nil, fmt.Errorf("%s: %w", c.name, err)
			}
			if round > 0 {
				costs[i] = append(costs[i], took)
			}
		}
	}
	return costs, nil
}

// once is one run of a program, its output thrown away. Status 1 of a check is
// no failure: it found something.
func once(path string, env []string, args ...string) (cost, error) {
	c := exec.Command(path, args...)
	c.Env = append(os.Environ(), env...)
	var says bytes.Buffer
	c.Stderr = &says
	began := time.Now()
	err := c.Run()
	took := time.Since(began).Seconds()
	if err != nil && (c.ProcessState == nil || c.ProcessState.ExitCode() != 1 || says.Len() > 0) {
		return cost{}, fmt.Errorf("%s: %w: %s", filepath.Base(path), err, &says)
	}
	return cost{took, (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds(), peakRSS(c.ProcessState)}, nil
}

// sideBySide runs a program once a file, some at a time.
func sideBySide(at int, files []string, run func(file string) (cost, error)) (cost, error) {
	var mu sync.Mutex
	var wg sync.WaitGroup
	var sum cost
	var failed error
	began := time.Now()
	queue := make(chan string)
	for range at {
		wg.Go(func() {
			for f := range queue {
				c, err := run(f)
				mu.Lock()
				sum.cpu += c.cpu
				sum.rss = max(sum.rss, c.rss)
				if err != nil && failed == nil {
					failed = err
				}
				mu.Unlock()
			}
		})
	}
	for _, f := range files {
		queue <- f
	}
	close(queue)
	wg.Wait()
	sum.wall = time.Since(began).Seconds()
	return sum, failed
}

// spread is a median with the least and the largest.
type spread struct {
	median, least, most float64
	n                   int
}

func spreadOf(x []float64) spread {
	s := slices.Clone(x)
	slices.Sort(s)
	if len(s) == 0 {
		return spread{math.NaN(), math.NaN(), math.NaN(), 0}
	}
	return spread{(s[(len(s)-1)/2] + s[len(s)/2]) / 2, s[0], s[len(s)-1], len(s)}
}

// each is a figure of every round.
func each(costs []cost, of func(cost) float64) []float64 {
	x := make([]float64, len(costs))
	for i, c := range costs {
		x[i] = of(c)
	}
	return x
}

// ratios are a over b, round by round.
func ratios(a, b []cost, of func(cost) float64) spread {
	x := make([]float64, len(a))
	for i := range a {
		x[i] = of(a[i]) / of(b[i])
	}
	return spreadOf(x)
}

func (s spread) String() string {
	return fmt.Sprintf("%.3g (%.3g to %.3g)", s.median, s.least, s.most)
}

// exponent is the slope of y over x, both in logarithms: 1 where y grows with x,
// 2 where it grows with its square.
func exponent(x, y []float64) float64 {
	var sx, sy, sxx, sxy, n float64
	for i := range x {
		if x[i] <= 0 || y[i] <= 0 {
			continue
		}
		a, b := math.Log(x[i]), math.Log(y[i])
		sx, sy, sxx, sxy, n = sx+a, sy+b, sxx+a*a, sxy+a*b, n+1
	}
	return (n*sxy - sx*sy) / (n*sxx - sx*sx)
}
