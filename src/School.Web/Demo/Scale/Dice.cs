namespace School.Web.Demo.Scale;

/// <summary>
/// Chance that is the same for the same seed, also on another version of the runtime. SplitMix64 (Steele, Lea, Flood: Fast splittable
/// pseudorandom number generators, OOPSLA 2014; the constants from memory).
/// </summary>
internal sealed class Dice(long seed, long also = 0)
{
    private ulong _state = Mix((ulong)seed) ^ Mix((ulong)also + Step);

    private const ulong Step = 0x9E3779B97F4A7C15;

    public int Next(int below) => (int)(Bits() % (ulong)below);

    public bool Percent(int chance) => Next(100) < chance;

    public T Of<T>(IReadOnlyList<T> choices) => choices[Next(choices.Count)];

    public ulong Bits() => Mix(_state += Step);

    /// <summary>Different for different input.</summary>
    public static ulong Mix(ulong value)
    {
        value = (value ^ (value >> 30)) * 0xBF58476D1CE4E5B9;
        value = (value ^ (value >> 27)) * 0x94D049BB133111EB;
        return value ^ (value >> 31);
    }
}
