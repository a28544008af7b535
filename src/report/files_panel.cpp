#include <fmt/format.h>

#include "report/panels.h"
#include "report/text.h"

namespace lastroom {
namespace {

void add_file(pugi::xml_node parent, const Words& words, const char* heading, const InputFacts& file) {
  pugi::xml_node block = add(parent, "div", "file");
  add(block, "h3", "", words(heading));
  add_foreign(add(block, "p", "file-name"), file.file);
  add(block, "p", "",
      words("files.size", {{"vertices", std::to_string(file.vertices)},
                           {"triangles", std::to_string(file.triangles)},
                           {"units", std::string(unit_name(file.units))},
                           {"told", words(file.units_from == Told::by_option ? "told.option" : "told.guess")}}));
  add(block, "p", "hash", "SHA-256 " + plain_text(file.sha256, 64));
  if (file.repairs.empty()) {
    add(block, "p", "", words("files.no_repairs"));
    return;
  }
  add(block, "p", "", words("files.repairs"));
  pugi::xml_node list = add(block, "ul");
  for (const Message& repair : file.repairs) add_message(list, "li", "", repair, words);
}

}  // namespace

void files_panel(pugi::xml_node page, const Page& facts) {
  const Words& words = facts.words;
  pugi::xml_node section = add_section(page, words, "files");
  pugi::xml_node pair = add(section, "div", "files");
  add_file(pair, words, "files.scan", facts.fitting.foot.facts);
  add_file(pair, words, "files.last", facts.fitting.last.facts);
  add(section, "h3", "", words("files.rules"));
  pugi::xml_node rules = add(section, "p");
  add_foreign(rules, facts.fitting.rules.name, 120);
  add(section, "p", "hash", "SHA-256 " + plain_text(facts.fitting.rules.sha256, 64));
  add(section, "p", "", words("files.program", {{"version", std::string(tool_version())}}));
  add(section, "p", "quiet", words("files.privacy"));
}

}  // namespace lastroom
