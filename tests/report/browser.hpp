// A real browser without a window, and what it says of a page. Absent where Chromium is not installed.
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

namespace proofwalk::report_test {

namespace fs = std::filesystem;

inline std::string slurp(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

inline void spill(const fs::path& file, const std::string& text) {
    fs::create_directories(file.parent_path());
    std::ofstream(file, std::ios::binary) << text;
}

struct Ran {
    int status = -1;
    std::string out;
};

inline Ran run(const std::string& command) {
    Ran ran;
    FILE* pipe = popen(command.c_str(), "r");
    if (pipe == nullptr) return ran;
    std::array<char, 4096> buffer{};
    while (const std::size_t n = fread(buffer.data(), 1, buffer.size(), pipe)) ran.out.append(buffer.data(), n);
    const int status = pclose(pipe);
    ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    return ran;
}

inline bool installed(const std::string& program) { return run("command -v " + program + " >/dev/null 2>&1").status == 0; }

class Browser {
public:
    Browser() {
        std::string pattern = (fs::temp_directory_path() / "proofwalk-browser-XXXXXX").string();
        folder_ = mkdtemp(pattern.data());
    }
    ~Browser() {
        std::error_code ignored;
        fs::remove_all(folder_, ignored);
    }
    Browser(const Browser&) = delete;
    Browser& operator=(const Browser&) = delete;

    struct Opened {
        bool ran = false;
        std::string dom;      // after scripts ran
        std::string console;  // every line that the page wrote to the console
    };
    // What stands in the page once it is loaded in a window of this size.
    Opened open(const std::string& html, int width, int height) {
        const fs::path page = folder_ / "page.html";
        spill(page, html);
        const fs::path errors = folder_ / "errors.txt";
        const Ran ran = run(start() + " --enable-logging=stderr --v=0 --window-size=" + std::to_string(width) + "," +
                            std::to_string(height) + " --virtual-time-budget=3000 --dump-dom file://" + page.string() + " 2>" + errors.string());
        Opened opened{ran.status == 0 && !ran.out.empty(), ran.out, ""};
        std::istringstream lines(slurp(errors));
        for (std::string line; std::getline(lines, line);)
            if (line.find(":CONSOLE") != std::string::npos) opened.console += line + "\n";
        return opened;
    }

    // Several pages at once, each in a frame of this size (a browser's own window has a least width). Each page tells its
    // result with parent.postMessage; the title of what is returned is all of them, one in brackets each.
    Opened open_in_frames(const std::vector<std::string>& pages, int width, int height) {
        std::string html = "<!DOCTYPE html><title></title><script>addEventListener('message', e => document.title += '[' + e.data + ']')</script>";
        for (std::size_t i = 0; i < pages.size(); ++i) {
            const std::string name = "framed" + std::to_string(i) + ".html";
            spill(folder_ / name, pages[i]);
            html += "<iframe src=\"" + name + "\" style=\"border:0;width:" + std::to_string(width) + "px;height:" + std::to_string(height) + "px\"></iframe>";
        }
        return open(html, 1000, 1000);
    }

    // The printed page as text, pages parted by form feeds; empty when it could not be printed.
    std::string printed(const std::string& html) {
        const fs::path page = folder_ / "print.html";
        const fs::path pdf = folder_ / "print.pdf";
        spill(page, html);
        run(start() + " --no-pdf-header-footer --print-to-pdf=" + pdf.string() + " file://" + page.string() + " 2>/dev/null");
        return run("pdftotext -layout " + pdf.string() + " - 2>/dev/null").out;
    }
    // "Pages: 21 ..." of the last print.
    std::string printed_facts() { return run("pdfinfo " + (folder_ / "print.pdf").string() + " 2>/dev/null").out; }

private:
    std::string start() const {
        return "timeout 60 chromium --headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
               "--disable-component-update --disable-sync --user-data-dir=" +
               (folder_ / "profile").string();
    }

    fs::path folder_;
};

// A copy of a page whose policy lets a probe run, with the probe at its end.
inline std::string with_probe(std::string html, const std::string& script) {
    if (const auto at = html.find("script-src 'sha256-"); at != std::string::npos)
        html.replace(at, html.find('"', at) - at, "script-src 'unsafe-inline'");
    else if (const auto data = html.find("img-src data:"); data != std::string::npos)
        html.insert(data, "script-src 'unsafe-inline'; ");
    html.insert(html.rfind("</body>"), "<script>" + script + "</script>");
    return html;
}

}  // namespace proofwalk::report_test
