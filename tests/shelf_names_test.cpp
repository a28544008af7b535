// What the lasts of a shelf are called: by its table, or by their files' names.
#include <doctest/doctest.h>

#include "commands/shelf_table.h"
#include "error.h"

using namespace lastroom;

TEST_CASE("model, size and width are read from names as makers write them, and nothing from a name without a size") {
  struct Case {
    const char *stem, *model, *size, *width;
  };
  // Sizes: Paris points, English, Mondopoint (ISO 9407 writes the foot's length in mm). The order within a name is
  // common practice, no source.
  for (const Case& c : {Case{"derby-42-wide", "derby", "42", "wide"}, Case{"Oxford_8.5_G", "Oxford", "8.5", "G"},
                        Case{"265 k mokassin left", "mokassin", "265", "k"}, Case{"A-42", "A", "42", ""},
                        Case{"R-derby--42-EE", "derby", "42", "EE"},
                        Case{"last 2024 boot 43", "last 2024 boot", "43", ""}, Case{"derby", "", "", ""},
                        Case{"last_fits", "", "", ""}, Case{"", "", "", ""}, Case{"model-0-42.7", "", "", ""}}) {
    CAPTURE(c.stem);
    const LastName name = name_from_file(c.stem);
    CHECK(name.model == c.model);
    CHECK(name.size == c.size);
    CHECK(name.width == c.width);
  }
}

TEST_CASE("the shelf's table says more than the file's name, and may leave out everything but the file") {
  const ShelfTable table = parse_shelf_table(
      "\xEF\xBB\xBFsize,file,heel,side,width,model\r\n42,a.stl,25.5,left,wide,\"Derby, old\"\r\n,b-43-F.stl,,,,\r\n",
      "shelf.csv");
  const TableEntry a = entry_of(table, "lasts/a.stl"), b = entry_of(table, "b-43-F.stl"),
                   none = entry_of(table, "c.stl");
  CHECK(a.name.model == "Derby, old");
  CHECK(a.name.size == "42");
  CHECK(a.side == Side::left);
  CHECK(a.heel_mm == 25.5);
  CHECK(b.name.model == "b");
  CHECK(b.name.width == "F");
  CHECK_FALSE(b.heel_mm.has_value());
  CHECK(none.name.model.empty());
  CHECK(parse_shelf_table("file\na.stl\n", "shelf.csv").size() == 1);
}

TEST_CASE("a table that can't be meant is refused with its line") {
  for (const char* wrong :
       {"model,size\nA,42\n", "file,colour\na.stl,red\n", "file,heel\na.stl,high\n", "file,heel\na.stl,-5\n",
        "file,heel\na.stl,nan\n", "file,heel\na.stl,inf\n", "file,heel\na.stl,1e999\n", "file,heel\na.stl,251\n",
        "file,heel\na.stl,2 5\n", "file,side\na.stl,up\n", "file,size\n,42\n", "file\na.stl\na.stl\n",
        "file;size\na.stl;42\n"}) {
    CAPTURE(wrong);
    try {
      parse_shelf_table(wrong, "shelf.csv");
      FAIL("taken");
    } catch (const InputError& error) {
      CHECK(std::string(error.what()).starts_with("shelf.csv, line "));
    }
  }
}
