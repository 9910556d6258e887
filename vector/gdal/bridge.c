//go:build !nogdal

#include "bridge.h"

#include <math.h>
#include <pthread.h>
#include <string.h>

#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_vsi.h>

// The drivers that are left in place: local files of formats that quoin reads or
// writes. None of them opens connections.
static const char *const kept[] = {
	"GTiff", "COG", "VRT", "MEM", "JPEG", "PNG", "JP2OpenJPEG", "WEBP", "Memory", "ESRI Shapefile",
	"GPKG", "GeoJSON", "GeoJSONSeq", "FlatGeobuf", "DXF", "GML", "MapInfo File", "CSV", NULL,
};

static void *refuse(void *user, const char *name, const char *access) {
	(void)user, (void)access;
	CPLError(CE_Failure, CPLE_NotSupported, "%s: virtual file systems are not read", name);
	return NULL;
}

// Everything GDAL can read through a prefix of a name is closed (networks,
// archives, standard input), whatever this version has, but for memory and parts
// of files, which its TIFF driver needs.
static void close_file_systems(void) {
	char **prefixes = VSIGetFileSystemsPrefixes();
	VSIFilesystemPluginCallbacksStruct *closed = VSIAllocFilesystemPluginCallbacksStruct();
	closed->open = refuse;
	for (int i = 0; prefixes && prefixes[i]; i++) {
		const char *p = prefixes[i];
		if (*p && strcmp(p, "/vsimem/") != 0 && strcmp(p, "/vsisubfile/") != 0)
			VSIInstallPluginHandler(p, closed);
	}
	VSIInstallPluginHandler("/vsicurl?", closed); // which GDAL does not list
	VSIFreeFilesystemPluginCallbacksStruct(closed);
	CSLDestroy(prefixes);
}

static void setup(void) {
	CPLSetErrorHandler(CPLQuietErrorHandler);
	CPLSetConfigOption("GDAL_DRIVER_PATH", "disable");
	CPLSetConfigOption("GDAL_VRT_ENABLE_PYTHON", "NO");
	GDALAllRegister();
	for (int i = GDALGetDriverCount() - 1; i >= 0; i--) {
		GDALDriverH d = GDALGetDriver(i);
		if (CSLFindString((CSLConstList)kept, GDALGetDriverShortName(d)) < 0)
			GDALDeregisterDriver(d);
	}
	close_file_systems();
	if (!CPLGetConfigOption("GDAL_CACHEMAX", NULL))
		GDALSetCacheMax64((GIntBig)128 << 20);
}

static void CPL_STDCALL note(CPLErr kind, CPLErrorNum number, const char *text) {
	(void)number;
	report *r = CPLGetErrorHandlerUserData();
	if (kind < CE_Failure || r->failed)
		return;
	r->failed = 1;
	CPLStrlcpy(r->text, text, sizeof r->text);
}

static void begin(report *r) {
	static pthread_once_t once = PTHREAD_ONCE_INIT;
	pthread_once(&once, setup);
	CPLPushErrorHandlerEx(note, r);
	CPLErrorReset();
}

// end makes sure that a call that gave nothing left a text.
static void end(report *r, int done) {
	CPLPopErrorHandler();
	if (!done && !r->failed) {
		r->failed = 1;
		CPLStrlcpy(r->text, "GDAL names no reason", sizeof r->text);
	}
}

GDALDatasetH quoin_open(const char *path, unsigned flags, report *r) {
	begin(r);
	GDALDatasetH d = GDALOpenEx(path, flags | GDAL_OF_VERBOSE_ERROR, NULL, NULL, NULL);
	end(r, d != NULL);
	return d;
}

void quoin_close(GDALDatasetH d, report *r) {
	begin(r);
	GDALClose(d);
	end(r, 1);
}

GDALDatasetH quoin_view(GDALDatasetH d, char **args, report *r) {
	begin(r);
	GDALDatasetH v = NULL;
	GDALTranslateOptions *o = GDALTranslateOptionsNew(args, NULL);
	if (o)
		v = GDALTranslate("", d, o, NULL);
	GDALTranslateOptionsFree(o);
	end(r, v != NULL);
	return v;
}

GDALDatasetH quoin_warp(GDALDatasetH d, char **args, report *r) {
	begin(r);
	GDALDatasetH v = NULL;
	GDALWarpAppOptions *o = GDALWarpAppOptionsNew(args, NULL);
	if (o)
		v = GDALWarp("", NULL, 1, &d, o, NULL);
	GDALWarpAppOptionsFree(o);
	end(r, v != NULL);
	return v;
}

int quoin_io(GDALRasterBandH b, int write, const double *window, int width, int height,
	void *to, GDALDataType type, long long step, long long line, int resampling, report *r) {
	begin(r);
	GDALRasterIOExtraArg extra;
	INIT_RASTERIO_EXTRA_ARG(extra);
	extra.eResampleAlg = resampling;
	extra.bFloatingPointWindowValidity = TRUE;
	extra.dfXOff = window[0], extra.dfYOff = window[1];
	extra.dfXSize = window[2], extra.dfYSize = window[3];
	// The whole pixels around the window, at least one.
	int x = (int)floor(window[0]), y = (int)floor(window[1]);
	int columns = GDALGetRasterBandXSize(b), rows = GDALGetRasterBandYSize(b);
	x = x >= columns ? columns - 1 : x, y = y >= rows ? rows - 1 : y;
	int right = (int)ceil(window[0] + window[2]), below = (int)ceil(window[1] + window[3]);
	right = right > columns ? columns : right, below = below > rows ? rows : below;
	right = right <= x ? x + 1 : right, below = below <= y ? y + 1 : below;
	CPLErr e = GDALRasterIOEx(b, write ? GF_Write : GF_Read, x, y, right - x, below - y,
		to, width, height, type, step, line, &extra);
	end(r, e == CE_None);
	return e == CE_None;
}

GDALDatasetH quoin_create(const char *path, int width, int height, int bands,
	GDALDataType type, char **options, report *r) {
	begin(r);
	GDALDriverH driver = GDALGetDriverByName("GTiff");
	GDALDatasetH d = GDALCreate(driver, path, width, height, bands, type, options);
	end(r, d != NULL);
	return d;
}

int quoin_place(GDALDatasetH d, double *transform, const char *crs, report *r) {
	begin(r);
	CPLErr e = GDALSetGeoTransform(d, transform);
	if (e == CE_None && *crs)
		e = GDALSetProjection(d, crs);
	end(r, e == CE_None);
	return e == CE_None;
}

void quoin_copy(const char *driver, const char *path, GDALDatasetH from, char **options, report *r) {
	begin(r);
	GDALDatasetH d = GDALCreateCopy(GDALGetDriverByName(driver), path, from, FALSE, options, NULL, NULL);
	int done = d != NULL;
	if (d)
		GDALClose(d);
	end(r, done);
}

void quoin_translate(const char *path, GDALDatasetH from, char **args, report *r) {
	begin(r);
	GDALDatasetH d = NULL;
	GDALVectorTranslateOptions *o = GDALVectorTranslateOptionsNew(args, NULL);
	if (o)
		d = GDALVectorTranslate(path, NULL, 1, &from, o, NULL);
	GDALVectorTranslateOptionsFree(o);
	int done = d != NULL;
	if (d)
		GDALClose(d);
	end(r, done);
}

OGRFeatureH quoin_next(OGRLayerH l, report *r) {
	begin(r);
	OGRFeatureH f = OGR_L_GetNextFeature(l);
	end(r, 1);
	return f;
}

int quoin_crs(OGRLayerH l, char **wkt) {
	OGRSpatialReferenceH s = OGR_L_GetSpatialRef(l);
	return s && OSRExportToWkt(s, wkt) == OGRERR_NONE;
}

// quoin_geometry returns the geometry as well-known binary in two dimensions,
// curves made lines, and the height of the first vertex; NULL for none.
unsigned char *quoin_geometry(OGRFeatureH f, int *size, double *z, report *r) {
	OGRGeometryH given = OGR_F_GetGeometryRef(f);
	if (!given || OGR_G_IsEmpty(given))
		return NULL;
	begin(r);
	unsigned char *wkb = NULL;
	OGRGeometryH g = OGR_G_GetLinearGeometry(given, 0, NULL);
	if (g) {
		if (OGR_G_Is3D(g) && wkbFlatten(OGR_G_GetGeometryType(g)) == wkbPoint)
			*z = OGR_G_GetZ(g, 0);
		OGR_G_FlattenTo2D(g);
		OGR_G_SetMeasured(g, FALSE);
		*size = OGR_G_WkbSize(g);
		wkb = VSIMalloc(*size);
		if (wkb && OGR_G_ExportToIsoWkb(g, wkbNDR, wkb) != OGRERR_NONE) {
			VSIFree(wkb);
			wkb = NULL;
		}
		OGR_G_DestroyGeometry(g);
	}
	end(r, wkb != NULL);
	return wkb;
}
