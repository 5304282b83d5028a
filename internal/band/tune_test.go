package band

import (
	"fmt"
	"io"
	"math"
	"os"
	"sort"
	"testing"
	"time"

	"tidemark/internal/sound"
)

func TestTune(t *testing.T) {
	o := Options{Faults: os.Getenv("FAULTS") != "", LineCheck: os.Getenv("LC") != ""}
	start := time.Now()
	s, err := NewSession(o)
	if err != nil {
		t.Fatal(err)
	}
	r, err := NewRenderer(&s.Scene)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("setup", time.Since(start), "past", r.past)
	for i := range r.mics {
		fmt.Print(len(r.mics[i].paths), "/", len(r.mics[i].echoes), " ")
	}
	fmt.Println()
	b := sound.NewBlock(len(s.Scene.Mics), 4800)
	n := len(s.Scene.Mics)
	all := make([][]float32, n)
	for r.Next(b) != io.EOF {
		for i := range all {
			all[i] = append(all[i], b.Channels[i]...)
		}
	}
	fmt.Println("render", time.Since(start))
	for i, x := range all {
		pk := 0.0
		sum := 0.0
		z := 0
		var hops []float64
		h := 0.0
		for k, v := range x {
			a := math.Abs(float64(v))
			pk = math.Max(pk, a)
			sum += a * a
			h += a * a
			if v == 0 {
				z++
			}
			if k%4800 == 4799 {
				hops = append(hops, 10*math.Log10(h/4800)+3.01)
				h = 0
			}
		}
		sort.Float64s(hops)
		var act []float64
		for _, q := range hops {
			if q > hops[len(hops)-1]-30 {
				act = append(act, q)
			}
		}
		fmt.Printf("%2d %-14s peak %6.1f rms %6.1f floor %6.1f usual %6.1f..%6.1f max %6.1f zeros %d\n", i, s.Scene.Mics[i].Name, 20*math.Log10(pk), 10*math.Log10(sum/float64(len(x)))+3.01, hops[len(hops)/20], act[len(act)/10], act[len(act)*95/100], hops[len(hops)-1], z)
	}
	for _, so := range s.Solos {
		fmt.Printf("%-18s", so.Source)
		for _, x := range all {
			e := 0.0
			a, b := int(so.StartS*48000), int(so.EndS*48000)
			for _, v := range x[a:b] {
				e += float64(v) * float64(v)
			}
			fmt.Printf(" %4.0f", 10*math.Log10(e/float64(b-a))+3)
		}
		fmt.Println()
	}
	if dir := os.Getenv("OUT"); dir != "" {
		for i, x := range all {
			f, _ := os.Create(fmt.Sprintf("%s/%02d.f32", dir, i))
			buf := make([]byte, 4*len(x))
			for k, v := range x {
				u := math.Float32bits(v)
				buf[4*k] = byte(u)
				buf[4*k+1] = byte(u >> 8)
				buf[4*k+2] = byte(u >> 16)
				buf[4*k+3] = byte(u >> 24)
			}
			f.Write(buf)
			f.Close()
		}
	}
}
