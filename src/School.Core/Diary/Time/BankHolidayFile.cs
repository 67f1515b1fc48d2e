using System.Text.Json;
using NodaTime;
using NodaTime.Text;

namespace School.Core.Diary.Time;

/// <summary>A day in GOV.UK's bank holiday data.</summary>
/// <param name="Nation">Where it holds.</param>
/// <param name="Date">The day off.</param>
/// <param name="Key">GOV.UK's own key for the name, such as <c>good_friday</c>.</param>
/// <param name="IsSubstitute">True for a substitute day.</param>
public sealed record OfficialBankHoliday(Nation Nation, LocalDate Date, string Key, bool IsSubstitute);

/// <summary>Reads bank holidays in the form in which GOV.UK keeps them (alphagov/frontend, bank-holidays.json).</summary>
public static class BankHolidayFile
{
    private static readonly LocalDatePattern DayMonthYear = LocalDatePattern.CreateWithInvariantCulture("dd/MM/yyyy");

    private static readonly (Nation Nation, string Slug)[] Divisions =
    [
        (Nation.EnglandAndWales, "common.nations.england-and-wales_slug"),
        (Nation.Scotland, "common.nations.scotland_slug"),
        (Nation.NorthernIreland, "common.nations.northern-ireland_slug"),
    ];

    /// <summary>Every day of the file, in its order.</summary>
    /// <exception cref="JsonException">The text is not JSON.</exception>
    /// <exception cref="KeyNotFoundException">A nation, date or title is missing.</exception>
    /// <exception cref="UnparsableValueException">A date is not day/month/year.</exception>
    public static IReadOnlyList<OfficialBankHoliday> Read(string json)
    {
        using var document = JsonDocument.Parse(json);
        var divisions = document.RootElement.GetProperty("divisions");
        return
        [
            .. from division in Divisions
               from year in divisions.GetProperty(division.Slug).EnumerateObject()
               where year.Value.ValueKind == JsonValueKind.Array
               from day in year.Value.EnumerateArray()
               select new OfficialBankHoliday(
                   division.Nation,
                   DayMonthYear.Parse(Text(day, "date")).GetValueOrThrow(),
                   Text(day, "title").Split('.')[^1],
                   Text(day, "notes").EndsWith("substitute_day", StringComparison.Ordinal)),
        ];
    }

    private static string Text(JsonElement day, string name) => day.GetProperty(name).GetString() ?? "";
}
