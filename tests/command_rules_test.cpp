// Other limits than the built-in ones are told on every page, whatever the file calls itself.
#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <regex>

#include "command_bench.h"

using namespace command_bench;

namespace {

/// The built-in rules with every limit for a standard wearer at -500, or 500 where too much is called: never reached.
std::string toothless_rules() {
  std::istringstream lines(slurp("src/assessment/default_rules.xml"));
  std::string text;
  for (std::string line; std::getline(lines, line); text += line + "\n")
    if (line.find("<standard") != std::string::npos) {
      line = std::regex_replace(line, std::regex("(_below)=\"[^\"]*\""), "$1=\"-500\"");
      line = std::regex_replace(line, std::regex("(_above)=\"[^\"]*\""), "$1=\"500\"");
    }
  return text;
}

/// The first part of a mail, its base 64 (RFC 4648, section 4) undone.
std::string mail_text(const std::string& mail) {
  const std::string letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  const std::size_t from = mail.find("base64\r\n\r\n") + 10;
  std::string text;
  unsigned bits = 0, count = 0;
  for (const char c : mail.substr(from, mail.find("\r\n--", from) - from)) {
    const std::size_t value = letters.find(c);
    if (value == std::string::npos) continue;
    bits = bits << 6 | static_cast<unsigned>(value);
    count += 6;
    if (count < 8) continue;
    count -= 8;
    text += static_cast<char>(bits >> count & 0xFF);
  }
  return text;
}

}  // namespace

TEST_CASE("rules without teeth that keep the name of the built-in ones are told on every page's first screen") {
  const DemoFiles files;
  LastShape short_last;
  short_last.allowance_mm = 2.0;
  const std::string last = files.put("short.stl", stl_binary(make_last(files.foot, short_last).mesh));
  const std::string with_rules = "--quiet --rules '" + files.put("mine.xml", toothless_rules()) + "' ";
  const std::string pair = "'" + files.scan + "' '" + last + "' ";
  const Run run = lastroom_run(files, "check " + pair + with_rules + "-o '" + files.path("out") + "' --eml '" +
                                          files.path("mail.eml") + "' --template '" + files.path("toes.svg") +
                                          "' --changes '" + files.path("changes.html") + "'");
  CAPTURE(run.err);
  REQUIRE(run.status == 0);
  const auto result = nlohmann::json::parse(slurp(files.path("out/result.json")));
  CHECK(result["tool"]["rules"] == "lastroom defaults");
  CHECK(result["tool"]["rules_built_in"] == false);
  const int loosened = result["tool"]["limits_loosened"];
  CHECK(loosened > 60);  // 17 zones and 5 rooms with two or three numbers each, and 10 differences
  const std::string told = "(file mine.xml). " + std::to_string(loosened) + " of ";
  CHECK(run.out.find(told) != std::string::npos);
  CHECK(slurp(files.path("toes.svg")).find(told) != std::string::npos);
  CHECK(mail_text(slurp(files.path("mail.eml"))).find(told) != std::string::npos);

  const auto on_first_screen = [&](const std::string& page) {
    std::string html = slurp(files.path(page));  // a file's name is marked as nobody's language
    html = std::regex_replace(html, std::regex("<bdi[^>]*>([^<]*)</bdi>"), "$1");
    const std::size_t at = html.find(told), first = html.find("<section"), second = html.find("<section", first + 1);
    CAPTURE(page);
    CHECK(at != std::string::npos);
    CHECK(at > first);
    CHECK(at < second);
  };
  for (const char* page : {"out/report.html", "out/client.html", "out/referral.html", "changes.html"})
    on_first_screen(page);
  REQUIRE(lastroom_run(files, "check --left '" + files.put("left.ply", ply_binary(mirrored_y(files.foot.mesh))) +
                                  "' '" + files.put("left.stl", stl_binary(mirrored_y(files.made_last.mesh))) +
                                  "' --right " + pair + with_rules + "-o '" + files.path("pair") + "'")
              .status == 0);
  for (const char* page :
       {"pair/report.html", "pair/client.html", "pair/referral.left.html", "pair/referral.right.html"})
    on_first_screen(page);
  REQUIRE(lastroom_run(files, "screen " + pair + with_rules + "-o '" + files.path("shelf") + "'").status == 0);
  on_first_screen("shelf/shelf.html");
  on_first_screen("shelf/best/01-short/report.html");
  files.put("jobs.csv", "scan,last\nfoot.ply,short.stl\n");
  REQUIRE(
      lastroom_run(files, "batch '" + files.path("jobs.csv") + "' " + with_rules + "-o '" + files.path("batch") + "'")
          .status == 0);
  on_first_screen("batch/overview.html");
  on_first_screen("batch/jobs/0001/report.html");
  REQUIRE(lastroom_run(files, "check " + pair + "--quiet -o '" + files.path("built_in") + "'").status == 0);
  CHECK(slurp(files.path("built_in/report.html")).find("own-rules\"") == std::string::npos);
  REQUIRE(lastroom_run(files, "compare '" + files.path("out") + "' '" + files.path("built_in") + "' -o '" +
                                  files.path("compared") + "'")
              .status == 0);
  on_first_screen("compared/compare.html");

  // The floors for who may not feel a pinch: no page at all.
  std::string lax = toothless_rules();
  lax = std::regex_replace(lax, std::regex("(<at_risk pinch_below)=\"[^\"]*\""), "$1=\"-500\"");
  const Run refused = lastroom_run(
      files, "check " + pair + "--quiet --rules '" + files.put("lax.xml", lax) + "' -o '" + files.path("never") + "'");
  CHECK(refused.status == 3);
  CHECK(refused.err.find("must not be laxer than built in") != std::string::npos);
}
