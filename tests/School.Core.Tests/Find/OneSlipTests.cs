using School.Core.Find;

namespace School.Core.Tests.Find;

/// <summary>The four slips of Damerau (CACM 7 (1964) 171; from memory), against a table of edit distances.</summary>
public sealed class OneSlipTests
{
    [Theory]
    [InlineData("oakley", "oakley")]
    [InlineData("oaklay", "oakley")]
    [InlineData("oakly", "oakley")]
    [InlineData("oakkley", "oakley")]
    [InlineData("oalkey", "oakley")]
    [InlineData("akley", "oakley")]
    [InlineData("oakleys", "oakley")]
    [InlineData("aokley", "oakley")]
    [InlineData("oaklye", "oakley")]
    public void One_slip_is_forgiven(string typed, string meant) => Assert.True(OneSlip.Leads(typed, meant));

    [Theory]
    [InlineData("okaely", "oakley")]
    [InlineData("oaklayy", "oakley")]
    [InlineData("yelkao", "oakley")]
    [InlineData("oak", "oakley")]
    [InlineData("", "oa")]
    [InlineData("lakoey", "oakley")]
    public void Two_are_another_word(string typed, string meant) => Assert.False(OneSlip.Leads(typed, meant));

    [Fact]
    public void It_agrees_with_the_table_of_distances_on_all_short_words_of_three_letters()
    {
        var words = new List<string> { "" };
        for (var n = 0; n < 4; n++)
        {
            words.AddRange(words.Where(word => word.Length == n).SelectMany(word => "abc", (word, letter) => word + letter).ToList());
        }

        foreach (var (typed, meant) in words.SelectMany(_ => words, (typed, meant) => (typed, meant)))
        {
            Assert.True((Distance(typed, meant) <= 1) == OneSlip.Leads(typed, meant), $"{typed} {meant}");
        }
    }

    /// <summary>Optimal string alignment, by the textbook.</summary>
    private static int Distance(string a, string b)
    {
        var table = new int[a.Length + 1, b.Length + 1];
        for (var i = 0; i <= a.Length; i++)
        {
            for (var j = 0; j <= b.Length; j++)
            {
                table[i, j] = i == 0 || j == 0 ? i + j
                    : Math.Min(Math.Min(table[i - 1, j], table[i, j - 1]) + 1, table[i - 1, j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1));
                if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                {
                    table[i, j] = Math.Min(table[i, j], table[i - 2, j - 2] + 1);
                }
            }
        }

        return table[a.Length, b.Length];
    }
}
