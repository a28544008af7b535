#include "commands/letterhead_file.h"

#include <fmt/format.h>

#include <map>
#include <nlohmann/json.hpp>

#include "error.h"
#include "files/input_file.h"
#include "report/logo.h"

namespace lastroom {
namespace {

using Json = nlohmann::json;

constexpr std::uint64_t kLargest = 10'000;
constexpr std::uint64_t kLargestLogo = 200'000;            // bytes: it is in every client's page and mail (our choice)
constexpr std::size_t kLongestLine = 200, kMostLines = 6;  // bytes; of an address. Our choice: it stands on one sheet

std::string line_of(const Json& value, const std::string& key, const std::string& name) {
  const bool is_line = value.is_string() && value.get_ref<const std::string&>().size() <= kLongestLine;
  if (!is_line) throw InputError(fmt::format("{}: '{}' must be a text of at most {} bytes", name, key, kLongestLine));
  std::string line = value.get<std::string>();
  for (char& c : line)
    if ((c >= 0 && c < ' ') || c == 127) c = ' ';  // one line, whatever stands in it
  return line;
}

/// One address, and nothing that would begin another header or another address (RFC 5322, 3.4.1: dot-atom).
bool is_mail_address(const std::string& text) {
  const auto is_atom = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
           std::string_view(".!#$%&'*+-/=?^_`{|}~").find(c) != std::string_view::npos;
  };
  const std::size_t at = text.find('@');
  if (at == std::string::npos || at == 0 || at + 1 == text.size()) return false;
  return std::ranges::all_of(text.substr(0, at), is_atom) && std::ranges::all_of(text.substr(at + 1), is_atom);
}

}  // namespace

Letterhead read_letterhead(const std::filesystem::path& file) {
  const FileBytes bytes = read_bytes(file, kLargest);
  return parse_letterhead({bytes.data.get(), bytes.size}, shown_name(file), file.parent_path());
}

std::vector<std::filesystem::path> letterhead_files(const std::filesystem::path& file) {
  if (file.empty()) return {};
  const FileBytes bytes = read_bytes(file, kLargest);
  const Json object = Json::parse(bytes.bytes().begin(), bytes.bytes().end(), nullptr, false);
  if (!object.is_object() || !object.contains("logo") || !object["logo"].is_string()) return {file};
  return {file, file.parent_path() / object["logo"].get<std::string>()};
}

Letterhead parse_letterhead(std::string_view json, const std::string& name, const std::filesystem::path& folder) {
  const Json object = Json::parse(json, nullptr, false);
  if (!object.is_object())
    throw InputError(
        fmt::format("{}: not a JSON object; write {{\"name\": \"...\", \"address\": [\"...\"], ...}}", name));
  Letterhead head;
  std::string logo;
  const std::map<std::string, std::string*> lines = {{"name", &head.name},
                                                     {"telephone", &head.telephone},
                                                     {"mail", &head.mail},
                                                     {"sign_off", &head.sign_off},
                                                     {"logo", &logo}};
  for (const auto& [key, value] : object.items()) {
    if (key == "address") {
      if (!value.is_array() || value.size() > kMostLines)
        throw InputError(fmt::format("{}: 'address' must be a list of at most {} lines", name, kMostLines));
      for (const Json& line : value) head.address.push_back(line_of(line, key, name));
      continue;
    }
    const auto known = lines.find(key);
    if (known == lines.end())
      throw InputError(
          fmt::format("{}: a letterhead has name, address, telephone, mail, sign_off and logo, and nothing else; "
                      "correct its other keys",
                      name));
    *known->second = line_of(value, key, name);
  }
  if (!head.mail.empty() && !is_mail_address(head.mail))
    throw InputError(fmt::format("{}: 'mail' must be one address such as bench@example.org", name));
  if (!logo.empty()) {
    const FileBytes bytes = read_bytes(folder / logo, kLargestLogo);
    head.logo = parse_logo({bytes.data.get(), bytes.size}, shown_name(folder / logo));
  }
  return head;
}

}  // namespace lastroom
