#include "commands/csv_table.h"

#include <fmt/format.h>

#include <algorithm>

#include "error.h"

namespace lastroom {
namespace {

constexpr std::size_t kLongestField = 4000;

class CsvReader {
 public:
  CsvReader(std::string_view text, const CsvTable& table) : text_(text), table_(table) {}

  bool at_end() const { return at_ == text_.size(); }

  CsvTable::Line next() {
    CsvTable::Line record{line_, {}};
    do record.fields.push_back(field());
    while (take(','));
    if (!at_end() && !take_line_end())
      fail("a quote is closed in the middle of a field; double the quotes inside a field");
    return record;
  }

 private:
  [[noreturn]] void fail(const std::string& what) const { table_.fail(line_, what); }
  bool take(char c) {
    if (at_end() || text_[at_] != c) return false;
    ++at_;
    return true;
  }
  bool take_line_end() {
    const bool return_too = take('\r');
    if (!take('\n') && !return_too) return false;
    ++line_;
    return true;
  }
  std::string field() {
    std::string value;
    if (!take('"')) {
      const std::size_t end = std::min(text_.find_first_of(",\r\n", at_), text_.size());
      value = text_.substr(at_, end - at_);
      if (value.find('"') != std::string::npos)
        fail("a quote stands inside a field; put the whole field between quotes");
      at_ = end;
    } else {
      const std::size_t first_line = line_;
      for (;;) {  // to the closing quote, or the text's end
        if (at_end()) {
          line_ = first_line;
          fail("a quote is opened and never closed; close it");
        }
        if (take('"')) {
          if (!take('"')) break;
          value += '"';
          continue;
        }
        if (text_[at_] == '\n') ++line_;
        value += text_[at_++];
      }
    }
    if (value.size() > kLongestField || value.find('\0') != std::string::npos)
      fail("a field is too long or no text; this is no such table");
    return value;
  }

  std::string_view text_;
  const CsvTable& table_;
  std::size_t at_ = 0, line_ = 1;
};

}  // namespace

CsvTable::CsvTable(std::string_view text, std::string name, std::span<const std::string_view> known)
    : name_(std::move(name)) {
  if (text.starts_with("\xEF\xBB\xBF")) text.remove_prefix(3);
  if (text.starts_with("\xFF\xFE") || text.starts_with("\xFE\xFF"))
    throw InputError(name_ + ": is in UTF-16; save the table as CSV UTF-8");
  CsvReader reader(text, *this);
  take_columns(reader.next(), known);
  while (!reader.at_end()) {
    Line line = reader.next();
    if (line.fields.size() == 1 && line.fields[0].empty()) continue;
    if (line.fields.size() != columns_.size())
      fail(line.number,
           fmt::format("has {} fields, and the first line names {} columns; put fields with commas between quotes",
                       line.fields.size(), columns_.size()));
    lines_.push_back(std::move(line));
  }
}

void CsvTable::take_columns(const Line& head, std::span<const std::string_view> known) {
  if (head.fields.size() == 1 && head.fields[0].find(';') != std::string::npos)
    fail(head.number, "the columns are parted by semicolons; save the table with commas (CSV UTF-8)");
  for (std::size_t i = 0; i < head.fields.size(); ++i) {
    const std::string& column = head.fields[i];
    if (std::ranges::find(known, column) == known.end())
      fail(head.number, fmt::format("no column is called '{}'; they are: {}", shown(column), fmt::join(known, ", ")));
    if (!columns_.emplace(column, i).second)
      fail(head.number, fmt::format("the column '{}' is there twice; leave one", column));
  }
}

std::string CsvTable::field(const Line& line, std::string_view column) const {
  const auto place = columns_.find(column);
  return place == columns_.end() ? std::string() : line.fields[place->second];
}

void CsvTable::fail(std::size_t line, const std::string& what) const {
  throw InputError(fmt::format("{}, line {}: {}", name_, line, what));
}

std::string CsvTable::shown(std::string_view field) {
  std::string text(field.substr(0, 40));
  for (char& c : text)
    if (c < ' ' || c == 127) c = '?';
  return text;
}

}  // namespace lastroom
