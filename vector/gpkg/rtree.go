package gpkg

import "strings"

func rtreeName(table string) string { return "rtree_" + table + "_" + geometryColumn }

// rtree fills the names of a table into one of the statements below.
func rtree(table, statement string) string {
	return strings.NewReplacer("<t>", table, "<c>", geometryColumn, "<i>", idColumn).Replace(statement)
}

const createRTree = `CREATE VIRTUAL TABLE "rtree_<t>_<c>" USING rtree(id, minx, maxx, miny, maxy)`

// rtreeTriggers keep the index in step when the table is edited (OGC
// 12-128r17, annex F.3, with the names and conditions of version 1.3). The
// functions ST_IsEmpty, ST_MinX and so on are those of the editing program.
const rtreeTriggers = `
CREATE TRIGGER "rtree_<t>_<c>_insert" AFTER INSERT ON "<t>"
  WHEN (new."<c>" NOT NULL AND NOT ST_IsEmpty(NEW."<c>"))
BEGIN
  INSERT OR REPLACE INTO "rtree_<t>_<c>" VALUES (
    NEW."<i>",
    ST_MinX(NEW."<c>"), ST_MaxX(NEW."<c>"),
    ST_MinY(NEW."<c>"), ST_MaxY(NEW."<c>")
  );
END;
CREATE TRIGGER "rtree_<t>_<c>_update1" AFTER UPDATE OF "<c>" ON "<t>"
  WHEN OLD."<i>" = NEW."<i>" AND
       (NEW."<c>" NOTNULL AND NOT ST_IsEmpty(NEW."<c>"))
BEGIN
  INSERT OR REPLACE INTO "rtree_<t>_<c>" VALUES (
    NEW."<i>",
    ST_MinX(NEW."<c>"), ST_MaxX(NEW."<c>"),
    ST_MinY(NEW."<c>"), ST_MaxY(NEW."<c>")
  );
END;
CREATE TRIGGER "rtree_<t>_<c>_update2" AFTER UPDATE OF "<c>" ON "<t>"
  WHEN OLD."<i>" = NEW."<i>" AND
       (NEW."<c>" ISNULL OR ST_IsEmpty(NEW."<c>"))
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id = OLD."<i>";
END;
CREATE TRIGGER "rtree_<t>_<c>_update3" AFTER UPDATE ON "<t>"
  WHEN OLD."<i>" != NEW."<i>" AND
       (NEW."<c>" NOTNULL AND NOT ST_IsEmpty(NEW."<c>"))
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id = OLD."<i>";
  INSERT OR REPLACE INTO "rtree_<t>_<c>" VALUES (
    NEW."<i>",
    ST_MinX(NEW."<c>"), ST_MaxX(NEW."<c>"),
    ST_MinY(NEW."<c>"), ST_MaxY(NEW."<c>")
  );
END;
CREATE TRIGGER "rtree_<t>_<c>_update4" AFTER UPDATE ON "<t>"
  WHEN OLD."<i>" != NEW."<i>" AND
       (NEW."<c>" ISNULL OR ST_IsEmpty(NEW."<c>"))
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id IN (OLD."<i>", NEW."<i>");
END;
CREATE TRIGGER "rtree_<t>_<c>_delete" AFTER DELETE ON "<t>"
  WHEN old."<c>" NOT NULL
BEGIN
  DELETE FROM "rtree_<t>_<c>" WHERE id = OLD."<i>";
END;
`
