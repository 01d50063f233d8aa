"""What a terminal of TERM=xterm shows: the few of its control sequences (ECMA-48) that the editing of lines uses."""
import codecs
import re


class Screen:
    def __init__(self, rows, columns, keeps_lines_whole):
        """`keeps_lines_whole`: in a window of another width lines are broken anew, instead of being cut."""
        self.rows, self.columns, self.keeps_lines_whole = rows, columns, keeps_lines_whole
        self.lines, self.wrapped = [[]], [False]  # a line that goes on in the next row is wrapped
        self.row = self.column = 0
        self.decoder = codecs.getincrementaldecoder("utf-8")()
        self.left = ""

    def text(self):
        return "\n".join("".join(line).rstrip() for line in self.lines)

    def shows(self, text):
        """Whether the screen ends with a text, broken at the width of the window, and the cursor stands behind it."""
        rows = [text[i:i + self.columns] for i in range(0, len(text), self.columns)]
        shown = self.text().rstrip("\n").split("\n")
        return shown[-len(rows):] == [row.rstrip() for row in rows] and self.row * self.columns + self.column == (len(shown) - len(rows)) * self.columns + len(text)

    def resize(self, rows, columns):
        if self.keeps_lines_whole:
            lines, wrapped, place = [], [], None
            whole = []
            for row, line in enumerate(self.lines):
                if row == self.row:
                    place = (len(lines), len(whole) + self.column)
                whole += line
                if not self.wrapped[row]:
                    lines.append(whole)
                    whole = []
            lines += [whole] if whole else []
            broken = []
            for number, line in enumerate(lines):
                if number == place[0]:
                    self.row, self.column = len(broken) + place[1] // columns, place[1] % columns
                parts = [line[i:i + columns] for i in range(0, len(line), columns)] or [[]]
                broken += parts
                wrapped += [True] * (len(parts) - 1) + [False]
            self.lines, self.wrapped = broken, wrapped
            self.extend()
        else:
            self.lines = [line[:columns] for line in self.lines]
            self.wrapped = [False] * len(self.lines)
            self.column = min(self.column, columns - 1)
        self.rows, self.columns = rows, columns

    def extend(self):
        while self.row >= len(self.lines):
            self.lines.append([])
            self.wrapped.append(False)

    def put(self, letter):
        if self.column >= self.columns:
            self.wrapped[self.row] = True
            self.row, self.column = self.row + 1, 0
            self.extend()
        line = self.lines[self.row]
        line += [" "] * (self.column + 1 - len(line))
        line[self.column] = letter
        self.column += 1

    def command(self, number, kind):
        count = int(number or 1)
        self.column = min(self.column, self.columns - 1)
        line = self.lines[self.row]
        if kind == "A":
            self.row = max(0, self.row - count)
        elif kind == "C":
            self.column = min(self.columns - 1, self.column + count)
        elif kind == "D":
            self.column = max(0, self.column - count)
        elif kind == "G":
            self.column = count - 1
        elif kind in "JK":
            del line[self.column:]
            self.wrapped[self.row] = False
            if kind == "J":
                del self.lines[self.row + 1:], self.wrapped[self.row + 1:]
        elif kind == "P":
            del line[self.column:self.column + count]
        elif kind == "@":
            line[self.column:self.column] = [" "] * count
            del line[self.columns:]
        elif kind not in "hlm":
            raise AssertionError(f"a control sequence of which this screen knows nothing: {number}{kind}")

    def take(self, data):
        text = self.left + self.decoder.decode(data)
        self.left = ""
        while text:
            sequence = re.match(r"\x1b\[\??([0-9]*)[0-9;]*([A-Za-z@])", text)
            if sequence:
                self.command(*sequence.groups())
                text = text[sequence.end():]
            elif text[0] == "\x1b" and len(text) < 10:
                self.left = text
                return
            else:
                letter, text = text[0], text[1:]
                if letter == "\r":
                    self.column = 0
                elif letter == "\n":
                    self.row += 1
                    self.extend()
                elif letter == "\b":
                    self.column = max(0, min(self.column, self.columns - 1) - 1)
                elif letter >= " ":
                    self.put(letter)
