/* Times LittleCMS's default RGB8 -> CMYK8 transform on one core with random
   pixels. Build and run with testdata/lcms-speed/run; needs liblcms2-dev. */
#include <lcms2.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

int main(int argc, char **argv)
{
	enum { N = 1 << 20, ROUNDS = 40 };
	cmsHPROFILE src, dst;
	cmsHTRANSFORM t;
	unsigned char *in = malloc(3 * N), *out = malloc(4 * N);
	struct timespec a, b;
	unsigned s = 1;
	double secs;
	int i;
	if (argc != 3 || !in || !out)
		return 2;
	src = cmsOpenProfileFromFile(argv[1], "r");
	dst = cmsOpenProfileFromFile(argv[2], "r");
	if (!src || !dst)
		return 1;
	t = cmsCreateTransform(src, TYPE_RGB_8, dst, TYPE_CMYK_8, INTENT_RELATIVE_COLORIMETRIC,
			       cmsFLAGS_BLACKPOINTCOMPENSATION);
	if (!t)
		return 1;
	for (i = 0; i < 3 * N; i++) {
		s = s * 1664525u + 1013904223u;
		in[i] = s >> 24;
	}
	cmsDoTransform(t, in, out, N);
	clock_gettime(CLOCK_MONOTONIC, &a);
	for (i = 0; i < ROUNDS; i++)
		cmsDoTransform(t, in, out, N);
	clock_gettime(CLOCK_MONOTONIC, &b);
	secs = (b.tv_sec - a.tv_sec) + (b.tv_nsec - a.tv_nsec) / 1e9;
	printf("LittleCMS RGB8-CMYK8: %.1f Mpx/s\n", (double)N * ROUNDS / secs / 1e6);
	return 0;
}
