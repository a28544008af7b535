#pragma once

namespace lastroom::open3d_adapter {

/// From here on neither this process nor any that it starts can make a socket other than a local one (AF_UNIX): the
/// kernel refuses (seccomp). Before any thread is started. False when the kernel can't do that.
bool forbid_network() noexcept;

/// From here on this process can open no file but this one, and that for reading only (Landlock, Linux 5.13 and on).
/// Before any thread is started. False when the kernel can't do that.
bool forbid_files_but(const char* file) noexcept;

}  // namespace lastroom::open3d_adapter
