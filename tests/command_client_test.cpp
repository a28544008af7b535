// The client's page under the maker's letterhead.
#include <doctest/doctest.h>

#include "command_bench.h"

using namespace command_bench;

TEST_CASE("the client's page is written and printed on A4 under the maker's letterhead") {
  const DemoFiles files;
  const std::string letterhead =
      files.put("letterhead.json", R"({"name": "A. Maker", "address": ["1 Example Street", "Exampletown"],
      "telephone": "000 123", "mail": "bench@example.org", "sign_off": "With kind regards"})");
  const std::string pdf = files.path("client.pdf");
  const Run run = lastroom_run(files, "check " + files.pair + "--quiet -o '" + files.path("out") + "' --letterhead '" +
                                          letterhead + "' --client-pdf '" + pdf + "'");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  CHECK(slurp(files.path("out") + "/client.html").find("1 Example Street") != std::string::npos);
  const std::string told = files.path("pdfinfo");
  REQUIRE(std::system(("pdfinfo '" + pdf + "' >'" + told + "'").c_str()) == 0);  // poppler-utils
  CHECK(slurp(told).find("(A4)") != std::string::npos);
}

TEST_CASE("a letterhead that can't be used is refused") {
  const DemoFiles files;
  const std::string long_line(201, 'x');
  for (const std::string& wrong :
       {std::string("not JSON"), std::string("[]"), std::string(R"({"firm": "A"})"), std::string(R"({"name": 7})"),
        std::string(R"({"address": "one line"})"), R"({"name": ")" + long_line + R"("})",
        std::string(R"({"mail": "a@b, c@d"})"), std::string("{\"mail\": \"a@b\\r\\nBcc: c@d\"}"),
        std::string(R"({"mail": "nobody"})")}) {
    CAPTURE(wrong);
    const std::string letterhead = files.put("letterhead.json", wrong);
    const Run run = lastroom_run(
        files, "check " + files.pair + "--quiet -o '" + files.path("out") + "' --letterhead '" + letterhead + "'");
    CHECK(run.status == 3);
    CHECK(run.err.find("letterhead.json") != std::string::npos);
    CHECK_FALSE(fs::exists(files.path("out")));
  }
}
