using System.Text;
using CsCheck;
using School.Web.Platform.Api;

namespace School.Web.Tests.Platform;

public sealed class CsvTests
{
    private static readonly Gen<string> Cells = Gen.Char["ab,\"\r\n=+-@\t 'é＝🙂"].Array[0, 8].Select(chars => new string(chars));

    /// <summary>RFC 4180, section 2, examples of rules 5 to 7.</summary>
    [Theory]
    [InlineData("aaa,bbb,ccc\r\n", "aaa", "bbb", "ccc")]
    [InlineData("aaa,\"b\r\nbb\",ccc\r\n", "aaa", "b\r\nbb", "ccc")]
    [InlineData("aaa,\"b\"\"bb\",ccc\r\n", "aaa", "b\"bb", "ccc")]
    public void Rows_are_written_as_the_standard_shows(string written, params string[] cells) => Assert.Equal(written, Csv.Write([cells]));

    [Theory]
    [InlineData("=1+1", "'=1+1")]
    [InlineData("+44", "'+44")]
    [InlineData("-2", "'-2")]
    [InlineData("@SUM(A1)", "'@SUM(A1)")]
    [InlineData("  =1", "'  =1")]
    [InlineData("＝1", "'＝1")]
    [InlineData("a=1", "a=1")]
    [InlineData("", "")]
    public void What_a_spreadsheet_would_take_for_a_formula_becomes_text(string cell, string becomes) => Assert.Equal([becomes], Read(Csv.Write([[cell]]))[0]);

    [Fact]
    public void A_reader_of_the_standard_gets_back_every_cell_and_none_begins_a_formula() => Cells.List[1, 4].List[1, 4].Sample(rows =>
    {
        var read = Read(Csv.Write(rows));
        Assert.Equal(rows.Select(row => row.Count), read.Select(row => row.Count));
        foreach (var (cell, got) in rows.SelectMany(row => row).Zip(read.SelectMany(row => row)))
        {
            Assert.True(got == cell || got == "'" + cell, $"{cell} became {got}");
            Assert.False(got.TrimStart(' ') is [var first, ..] && "=+-@\t\r\n＝".Contains(first), got);
        }
    });

    /// <summary>A reader after the grammar of RFC 4180, section 2.</summary>
    private static List<List<string>> Read(string text)
    {
        var rows = new List<List<string>>();
        var row = new List<string>();
        var cell = new StringBuilder();
        for (var at = 0; at < text.Length;)
        {
            if (text[at] == '"')
            {
                for (at++; text[at] != '"' || (at + 1 < text.Length && text[at + 1] == '"'); at += text[at] == '"' ? 2 : 1)
                {
                    cell.Append(text[at]);
                }

                at++;
            }
            else if (text[at] == ',')
            {
                row.Add(cell.ToString());
                cell.Clear();
                at++;
            }
            else if (text[at] == '\r')
            {
                Assert.Equal('\n', text[at + 1]);
                row.Add(cell.ToString());
                cell.Clear();
                rows.Add(row);
                row = [];
                at += 2;
            }
            else
            {
                cell.Append(text[at++]);
            }
        }

        Assert.Empty(row);
        return rows;
    }
}
