#include <fmt/format.h>

#include <cstdio>
#include <exception>
#include <filesystem>
#include <new>
#include <system_error>

#include "commands/commands.h"
#include "commands/interruption.h"
#include "error.h"
#include "files/input_file.h"
#include "geometry/parallel.h"
#include "message.h"
#include "open3d_adapter/confine.h"

namespace {

using namespace lastroom;

struct Runner {
  int operator()(const CheckOptions& options) const { return run_check(options); }
  int operator()(const MeasureOptions& options) const { return run_measure(options); }
  int operator()(const ScreenOptions& options) const { return run_screen(options); }
  int operator()(const ShelfOptions& options) const { return run_shelf(options); }
  int operator()(const CompareOptions& options) const { return run_compare(options); }
  int operator()(const BatchOptions& options) const { return run_batch(options); }
  int operator()(const DemoOptions& options) const { return run_demo(options); }
  int operator()(const Answer& answer) const {
    std::fputs(answer.text.c_str(), answer.status == 0 ? stdout : stderr);
    return answer.status;
  }
};

constexpr const char* kNoStandardOutput =
    "standard output: can't be written; make room on the disk that it goes to, or send it to another place";

int failed(const char* what, int status) {
  std::fprintf(stderr, "lastroom: %s\n", what);
  return status;
}

/// A name of the command line that the system does not even look up; outputs have sentences of their own.
std::string sentence_of(const std::filesystem::filesystem_error& error) {
  return fmt::format("{}: can't be looked up ({}); check the name and the folder that you work in",
                     error.path1().empty() ? "The working folder" : shown_name(error.path1()), error.code().message());
}

}  // namespace

int main(int argc, char** argv) {
  open3d_adapter::forbid_network();  // nothing of ours needs one; where the kernel can't, no browser is started
                                     // (pdf.cpp)
  end_cleanly_when_interrupted();
  end_cleanly_when_nothing_helps();
  try {
    english(own_text({}));  // its words are read now: the sentence that memory is out needs none
    const int status = std::visit(Runner{}, read_command_line(argc, argv));
    if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) return failed(kNoStandardOutput, 5);
    return status;
  } catch (const InputError& error) {
    return failed(error.what(), 3);
  } catch (const OutputError& error) {
    return failed(error.what(), 5);
  } catch (const std::bad_alloc&) {
    return failed(kOutOfMemory, 3);
  } catch (const std::filesystem::filesystem_error& error) {
    return failed(sentence_of(error).c_str(), 3);
  } catch (const std::system_error&) {  // a result could not be printed, or no thread could be started
    if (std::ferror(stdout) != 0) return failed(kNoStandardOutput, 5);
    return failed(kOutOfMemory, 3);
  } catch (const std::exception& error) {
    return failed((std::string("an error of our own, please report it with the command line: ") + error.what()).c_str(),
                  70);
  }
}
