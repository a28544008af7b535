// The client's page under the maker's letterhead.
#include <doctest/doctest.h>

#include <algorithm>

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

TEST_CASE("the client's page of both feet is one sheet, also of Letter, which is the shorter") {
  const DemoFiles files;
  const std::string left = files.put("left.ply", ply_binary(mirrored_y(files.foot.mesh))),
                    left_last = files.put("left.stl", stl_binary(mirrored_y(files.made_last.mesh))),
                    letterhead =
                        files.put("letterhead.json", R"({"name": "A. Maker", "sign_off": "With kind regards"})"),
                    pdf = files.path("client.pdf"), told = files.path("pdfinfo");
  const Run run = lastroom_run(files, "check --left '" + left + "' '" + left_last + "' --right " + files.pair +
                                          "--quiet --paper letter -o '" + files.path("out") + "' --letterhead '" +
                                          letterhead + "' --client-pdf '" + pdf + "'");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  REQUIRE(std::system(("pdfinfo '" + pdf + "' >'" + told + "'").c_str()) == 0);  // poppler-utils
  CHECK(slurp(told).find("(letter)") != std::string::npos);
  CHECK(slurp(told).find("Pages:           1\n") != std::string::npos);
}

namespace {

/// One grey pixel (PNG specification, third edition, 5 and 11), packed and summed by Python's zlib.
const std::string kPng(
    "\211\120\116\107\015\012\032\012\000\000\000\015\111\110\104\122\000\000\000\001\000\000\000\001\010\000"
    "\000\000\000\072\176\233\125\000\000\000\012\111\104\101\124\170\234\143\150\000\000\000\202\000\201\167"
    "\315\162\266\000\000\000\000\111\105\116\104\256\102\140\202",
    67);
constexpr const char* kSvg = R"(<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 2 1"><path d="M0 0h2v1z"/></svg>)";

}  // namespace

TEST_CASE("the maker's logo stands in the client's page itself, and the page may load nothing else") {
  const DemoFiles files;
  files.put("logo.png", kPng);
  const std::string letterhead = files.put("letterhead.json", R"({"name": "A. Maker", "logo": "logo.png"})");
  const Run run = lastroom_run(
      files, "check " + files.pair + "--quiet -o '" + files.path("out") + "' --letterhead '" + letterhead + "'");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  const std::string page = slurp(files.path("out") + "/client.html");
  const std::size_t start = page.find("src=\"data:image/png;base64,iVBORw0KGgo");  // of every PNG in base64
  CHECK(start != std::string::npos);
  CHECK(page.find("img-src data:;") != std::string::npos);
  CHECK(page.find("default-src 'none'") != std::string::npos);
}

TEST_CASE("a logo that is damaged, too large, or runs or fetches something is refused in one sentence") {
  const DemoFiles files;
  const std::string svg = kSvg;
  const auto with = [&](const std::string& inside) { return svg.substr(0, svg.find("<path")) + inside + "</svg>"; };
  std::string flipped = kPng, vast = kPng;
  flipped[45] = 'x';
  vast[17] = 1;  // 65,537 pixels wide
  const auto refused = [&](const std::string& logo) {
    files.put("logo", logo);
    const std::string letterhead = files.put("letterhead.json", R"({"name": "A. Maker", "logo": "logo"})");
    const Run run = lastroom_run(files, "check '" + files.path("no_scan.ply") + "' '" + files.last + "' --quiet -o '" +
                                            files.path("out") + "' --letterhead '" + letterhead + "'");
    CHECK(run.status == 3);
    CHECK(std::count(run.err.begin(), run.err.end(), '\n') == 1);
    return run.err.find("no_scan.ply") == std::string::npos;  // a good one gets as far as the scan
  };
  CHECK_FALSE(refused(kPng));
  CHECK_FALSE(refused(svg));
  // A frame of 1 by 1 and an empty scan (ITU-T T.81, annex B).
  const std::string jpeg("\xFF\xD8\xFF\xC0\0\x0B\x08\0\1\0\1\1\1\x11\0\xFF\xDA\0\x08\1\1\0\0\x3F\0\xFF\xD9", 27);
  CHECK_FALSE(refused(jpeg));
  for (const std::string& wrong :
       {std::string("no picture"), kPng.substr(0, 60), flipped, vast, kPng + "x", jpeg.substr(0, 20),
        jpeg.substr(0, 2) + jpeg.substr(15), with("<script>1</script>"), with("<path onclick='1'/>"),
        with("<image href='https://example.org/a.png'/>"), with("<use href='https://example.org/a.svg#a'/>"),
        with("<style>@import 'a.css';</style>"), with("<path style='fill:url(https://example.org)'/>"),
        "<!DOCTYPE svg [<!ENTITY a 'b'>]>" + svg, std::string("<html/>"), svg + std::string(200'000, ' ')}) {
    CAPTURE(wrong.substr(0, 80));
    CHECK(refused(wrong));
  }
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
