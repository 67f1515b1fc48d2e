namespace School.Tests;

/// <summary>
/// A test that does the same many times over marks itself <c>[Trait("Drill", "long")]</c> and asks here how many: few in the ordinary run,
/// all of them in <c>deploy/test long</c>, which sets SCHOOL_TEST_LONG. What it looks at is the same.
/// </summary>
internal static class Drill
{
    public const string Trait = "Drill";
    public const string Long = "long";

    public static int Rounds(int ordinary, int inFull) => Environment.GetEnvironmentVariable("SCHOOL_TEST_LONG") == "1" ? inFull : ordinary;
}
