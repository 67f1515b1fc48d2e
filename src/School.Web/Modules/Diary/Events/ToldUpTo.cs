using System.Globalization;

namespace School.Web.Modules.Diary.Events;

/// <summary>
/// Of which transactions somebody has been told: of all before one, but for those that were still open then. It is what PostgreSQL calls a
/// snapshot (its documentation, "Transaction ID and Snapshot Information Functions"), and means the same on every node. Who is told of a change
/// has been told of all that was over when that change was notified, since notifications come in the order in which their transactions ended.
/// </summary>
internal sealed record ToldUpTo(ulong Before, IReadOnlyList<ulong> Open)
{
    private const int MostOpen = 24;
    private const int Furthest = 200;

    /// <summary>The text of a snapshot: 100:104:100,102.</summary>
    public static ToldUpTo OfSnapshot(string text)
    {
        var parts = text.Split(':');
        return new(Number(parts[1]), parts[2].Length == 0 ? [] : [.. parts[2].Split(',').Select(Number)]);
    }

    public bool Holds(ulong transaction) => transaction < Before && !Open.Contains(transaction);

    /// <summary>With one transaction more. Where it lies so far ahead that much would be open in between, less is said, which is true as well.</summary>
    public ToldUpTo And(ulong transaction) =>
        transaction < Before ? this with { Open = [.. Open.Where(one => one != transaction)] }
        : transaction - Before > Furthest ? this
        : new(transaction + 1, [.. Open, .. Between(Before, transaction)]);

    /// <summary>What either was told.</summary>
    public ToldUpTo And(ToldUpTo other)
    {
        var (less, more) = Before <= other.Before ? (this, other) : (other, this);
        return new(more.Before, [.. less.Open.Where(one => !more.Holds(one)), .. more.Open.Where(one => one >= less.Before)]);
    }

    /// <summary>Whether this holds all that the other does.</summary>
    public bool Holds(ToldUpTo other) =>
        Open.All(one => one >= other.Before || other.Open.Contains(one)) && Between(Before, other.Before).All(other.Open.Contains);

    /// <summary>The first transaction that may be untold.</summary>
    public ulong First => Open.Count == 0 ? Before : Math.Min(Before, Open.Min());

    /// <summary>As it stands behind <c>id:</c>, such as 104 or 104.100.102.</summary>
    public override string ToString() => Open.Count > MostOpen
        ? First.ToString(CultureInfo.InvariantCulture)
        : string.Join('.', new[] { Before }.Concat(Open).Select(one => one.ToString(CultureInfo.InvariantCulture)));

    /// <summary>Null where it is nothing that was given out.</summary>
    public static ToldUpTo? Parse(string? text)
    {
        var parts = (text ?? "").Split('.');
        var numbers = new List<ulong>();
        foreach (var part in parts.Take(MostOpen + 2))
        {
            if (!ulong.TryParse(part, NumberStyles.None, CultureInfo.InvariantCulture, out var number))
            {
                return null;
            }

            numbers.Add(number);
        }

        return numbers.Count > MostOpen + 1 ? null : new(numbers[0], numbers[1..]);
    }

    private static IEnumerable<ulong> Between(ulong first, ulong end)
    {
        for (var one = first; one < end; one++)
        {
            yield return one;
        }
    }

    private static ulong Number(string text) => ulong.Parse(text, NumberStyles.None, CultureInfo.InvariantCulture);
}
