/*
 * Prints what libebur128 measures on a sound file that libsndfile reads: the
 * outside truth of Tidemark's loudness and peak meters, and their rival in speed.
 *
 *   ebur128 [-p MS] FILE...
 *
 * Without -p it measures integrated loudness, range, sample peak and true peak.
 * With it the sound is fed in pieces of so many milliseconds, a divisor of 100,
 * and the largest momentary loudness after any piece and the largest short-term
 * loudness after any 100 ms are printed too.
 *
 * One line a value, "name number"; a level that does not exist prints -inf.
 * Linear peaks carry all digits of a double.
 *
 * gcc -O3 -o ebur128 ebur128.c -lebur128 -lsndfile -lm
 */
#include <ebur128.h>
#include <sndfile.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { SHORT_TERM_STEP_MS = 100 };

static int fail(const char *file, const char *why) {
	fprintf(stderr, "ebur128: %s: %s\n", file, why);
	return 1;
}

/* frames_until is the frame that a time of ms milliseconds rounds to. */
static sf_count_t frames_until(sf_count_t ms, int rate) { return (ms * rate + 500) / 1000; }

static int measure(const char *file, int piece_ms) {
	SF_INFO info = {0};
	SNDFILE *sound = sf_open(file, SFM_READ, &info);
	if (!sound)
		return fail(file, sf_strerror(NULL));

	int mode = EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_SAMPLE_PEAK | EBUR128_MODE_TRUE_PEAK;
	if (piece_ms)
		mode |= EBUR128_MODE_M | EBUR128_MODE_S;
	unsigned channels = (unsigned)info.channels;
	ebur128_state *meter = ebur128_init(channels, (unsigned long)info.samplerate, mode);
	float *piece = malloc(sizeof *piece * channels * (size_t)info.samplerate);
	if (!meter || !piece)
		return fail(file, "no memory for the meter");
	/* Past six channels they are lines of one pass, each with weight 1. */
	for (unsigned c = 0; channels > 6 && c < channels; c++)
		ebur128_set_channel(meter, c, EBUR128_LEFT);

	double most_momentary = -HUGE_VAL, most_short_term = -HUGE_VAL;
	int step_ms = piece_ms ? piece_ms : SHORT_TERM_STEP_MS;
	for (sf_count_t k = 0;; k++) {
		sf_count_t want = frames_until((k + 1) * step_ms, info.samplerate) - frames_until(k * step_ms, info.samplerate);
		sf_count_t got = sf_readf_float(sound, piece, want);
		if (got > 0 && ebur128_add_frames_float(meter, piece, (size_t)got) != EBUR128_SUCCESS)
			return fail(file, "libebur128 took no frames");
		if (got < want)
			break;
		double level;
		if (piece_ms && ebur128_loudness_momentary(meter, &level) == EBUR128_SUCCESS && level > most_momentary)
			most_momentary = level;
		if (piece_ms && (k + 1) * step_ms % SHORT_TERM_STEP_MS == 0 &&
		    ebur128_loudness_shortterm(meter, &level) == EBUR128_SUCCESS && level > most_short_term)
			most_short_term = level;
	}

	double integrated, range, sample, between;
	if (ebur128_loudness_global(meter, &integrated) != EBUR128_SUCCESS || ebur128_loudness_range(meter, &range) != EBUR128_SUCCESS)
		return fail(file, "libebur128 gave no loudness");
	printf("file %s\nintegrated %.9f\nrange %.9f\n", file, integrated, range);
	if (piece_ms)
		printf("momentary %.9f\nshort-term %.9f\n", most_momentary, most_short_term);
	for (unsigned c = 0; c < channels; c++) {
		ebur128_sample_peak(meter, c, &sample);
		ebur128_true_peak(meter, c, &between);
		printf("sample-peak-%u %.17g\ntrue-peak-%u %.17g\n", c, sample, c, between);
	}
	free(piece);
	ebur128_destroy(&meter);
	sf_close(sound);
	return 0;
}

int main(int argc, char **argv) {
	int piece_ms = 0, first = 1;
	if (argc > 2 && strcmp(argv[1], "-p") == 0) {
		piece_ms = atoi(argv[2]);
		if (piece_ms < 1 || SHORT_TERM_STEP_MS % piece_ms != 0)
			return fail(argv[2], "pieces must be a divisor of 100 ms");
		first = 3;
	}
	if (first >= argc) {
		fprintf(stderr, "usage: ebur128 [-p MS] FILE...\n");
		return 2;
	}
	int major, minor, patch;
	ebur128_get_version(&major, &minor, &patch);
	printf("version libebur128 %d.%d.%d, %s\n", major, minor, patch, sf_version_string());
	for (int i = first; i < argc; i++)
		if (measure(argv[i], piece_ms))
			return 1;
	return 0;
}
