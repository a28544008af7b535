#include "open3d_adapter/confine.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/landlock.h>
#include <linux/seccomp.h>
#include <stddef.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <cstdint>
#include <iterator>

namespace lastroom::open3d_adapter {
namespace {

#if defined(__x86_64__)
constexpr unsigned kMachine = AUDIT_ARCH_X86_64;
#elif defined(__aarch64__)
constexpr unsigned kMachine = AUDIT_ARCH_AARCH64;
#else
#error "name the machine for seccomp here (linux/audit.h)"
#endif
constexpr unsigned kOtherCalls = 0x40000000;  // x86-64's x32 calls have numbers of their own

// What a program gains when it is started (setuid) would be lost to the filter: the kernel asks to give that up first.
bool gain_nothing() { return ::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0; }

}  // namespace

bool forbid_network() noexcept {
  constexpr auto kRefuse = [](unsigned why) { return static_cast<unsigned>(SECCOMP_RET_ERRNO | why); };
  // A jump tells how many of the following lines to leave out when it is so, and when it is not.
  sock_filter program[] = {
      BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(seccomp_data, arch)),
      BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, kMachine, 1, 0),
      BPF_STMT(BPF_RET | BPF_K, kRefuse(ENOSYS)),
      BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(seccomp_data, nr)),
      BPF_JUMP(BPF_JMP | BPF_JGE | BPF_K, kOtherCalls, 1, 0),
      BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_io_uring_setup, 0, 1),  // makes sockets without a call of their own
      BPF_STMT(BPF_RET | BPF_K, kRefuse(ENOSYS)),
      BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_socket, 0, 3),
      BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(seccomp_data, args)),
      BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, AF_UNIX, 1, 0),
      BPF_STMT(BPF_RET | BPF_K, kRefuse(EAFNOSUPPORT)),
      BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW),
  };
  const sock_fprog filter{static_cast<unsigned short>(std::size(program)), program};
  return gain_nothing() && ::prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &filter, 0, 0) == 0;
}

bool forbid_files_but(const char* file) noexcept {
  const long version = ::syscall(SYS_landlock_create_ruleset, nullptr, 0, LANDLOCK_CREATE_RULESET_VERSION);
  if (version < 1) return false;
  constexpr std::uint64_t kTruncate = 1 << 14;  // LANDLOCK_ACCESS_FS_TRUNCATE, which Debian 12's header lacks
  landlock_ruleset_attr forbidden{};
  constexpr std::uint64_t kFirst = LANDLOCK_ACCESS_FS_MAKE_SYM * 2 - 1;  // all that the first version knows
  forbidden.handled_access_fs = kFirst;
  if (version >= 2) forbidden.handled_access_fs |= LANDLOCK_ACCESS_FS_REFER;
  if (version >= 3) forbidden.handled_access_fs |= kTruncate;
  const long rules = ::syscall(SYS_landlock_create_ruleset, &forbidden, sizeof forbidden, 0);
  landlock_path_beneath_attr allowed{};
  allowed.allowed_access = LANDLOCK_ACCESS_FS_READ_FILE;
  allowed.parent_fd = ::open(file, O_PATH | O_CLOEXEC);
  const bool done = rules >= 0 && allowed.parent_fd >= 0 &&
                    ::syscall(SYS_landlock_add_rule, rules, LANDLOCK_RULE_PATH_BENEATH, &allowed, 0) == 0 &&
                    gain_nothing() && ::syscall(SYS_landlock_restrict_self, rules, 0) == 0;
  if (allowed.parent_fd >= 0) ::close(allowed.parent_fd);
  if (rules >= 0) ::close(static_cast<int>(rules));
  return done;
}

}  // namespace lastroom::open3d_adapter
