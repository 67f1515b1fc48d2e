using NodaTime;

namespace School.Core.Accounts;

/// <summary>What is left of hours that were sold together.</summary>
/// <param name="Id">The block.</param>
/// <param name="SoldOn">The day on which it was sold: the oldest is used first.</param>
/// <param name="Minutes">Minutes of teaching sold.</param>
/// <param name="Pence">What of its price is owed to the pupil as teaching, without VAT.</param>
/// <param name="MinutesUsed">Minutes that were taken from it.</param>
/// <param name="PenceUsed">What they came to.</param>
public sealed record PrepaidBlock(Guid Id, LocalDate SoldOn, int Minutes, long Pence, int MinutesUsed, long PenceUsed)
{
    /// <summary>Minutes still to be taught.</summary>
    public int MinutesLeft => Minutes - MinutesUsed;

    /// <summary>What they come to.</summary>
    public long PenceLeft => Pence - PenceUsed;

    /// <summary>Takes minutes from the oldest blocks that have some left.</summary>
    /// <remarks>The value of what is taken is cut so that a block that is used up comes to its price exactly, whatever the order of takings.</remarks>
    /// <param name="blocks">The pupil's blocks, in any order.</param>
    /// <param name="minutes">How many are asked for, nought or more; fewer are taken where there are fewer.</param>
    public static IReadOnlyList<Taking> Take(IEnumerable<PrepaidBlock> blocks, int minutes)
    {
        var taken = new List<Taking>();
        foreach (var block in blocks.Where(block => block.MinutesLeft > 0).OrderBy(block => block.SoldOn).ThenBy(block => block.Id))
        {
            if (minutes == 0)
            {
                break;
            }

            var part = Math.Min(minutes, block.MinutesLeft);
            taken.Add(new(block.Id, part, Accounts.Pence.Share(block.Pence, block.MinutesUsed + part, block.Minutes) - block.PenceUsed));
            minutes -= part;
        }

        return taken;
    }
}

/// <summary>Minutes taken from a block.</summary>
/// <param name="BlockId">The block.</param>
/// <param name="Minutes">How many.</param>
/// <param name="Pence">What they come to, without VAT.</param>
public sealed record Taking(Guid BlockId, int Minutes, long Pence);
