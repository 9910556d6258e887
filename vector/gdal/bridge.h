#ifndef QUOIN_BRIDGE_H
#define QUOIN_BRIDGE_H

#include <cpl_string.h>
#include <gdal.h>
#include <gdal_utils.h>
#include <ogr_api.h>
#include <ogr_srs_api.h>

// A report holds the first failure that GDAL named during one call. GDAL keeps
// errors by thread, and Go moves goroutines between threads from call to call, so the
// text is taken before the call returns.
typedef struct {
	int failed;
	char text[1000];
} report;

GDALDatasetH quoin_open(const char *path, unsigned flags, report *r);
void quoin_close(GDALDatasetH d, report *r);
GDALDatasetH quoin_view(GDALDatasetH d, char **args, report *r);
GDALDatasetH quoin_warp(GDALDatasetH d, char **args, report *r);
int quoin_io(GDALRasterBandH b, int write, const double *window, int width, int height,
	void *to, GDALDataType type, long long step, long long line, int resampling, report *r);
GDALDatasetH quoin_create(const char *path, int width, int height, int bands,
	GDALDataType type, char **options, report *r);
int quoin_place(GDALDatasetH d, double *transform, const char *crs, report *r);
void quoin_copy(const char *driver, const char *path, GDALDatasetH from, char **options, report *r);
void quoin_translate(const char *path, GDALDatasetH from, char **args, report *r);
OGRFeatureH quoin_next(OGRLayerH l, report *r);
int quoin_crs(OGRLayerH l, char **wkt);
unsigned char *quoin_geometry(OGRFeatureH f, int *size, double *z, report *r);

#endif
