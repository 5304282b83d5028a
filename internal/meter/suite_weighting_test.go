package meter

func init() {
	for _, w := range []Weighting{AWeighted, CWeighted, ZWeighted} {
		suiteMeters = append(suiteMeters, suiteMeter{
			name: w.String() + "-weighted level", channels: 1,
			start: oneChannel(func(rateHz int) *WeightedLevel { return NewWeightedLevel(rateHz, w) }),
		})
	}
}
