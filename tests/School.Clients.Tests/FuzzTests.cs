using CsCheck;
using School.Tests;
using School.Web.Tests.Contract;

namespace School.Clients.Tests;

/// <summary>The long form of the fuzzing that the ordinary tests do shortly.</summary>
public sealed class FuzzTests(TestPostgres postgres)
{
    private static readonly int Schools = Drill.Rounds(1, 4);
    private static readonly int Times = Drill.Rounds(20, 60);

    [Fact]
    [Trait(Drill.Trait, Drill.Long)]
    public Task No_answer_lies_outside_the_document() =>
        Gen.UInt.SampleAsync(seed => FuzzedSchool.FuzzAsync(postgres, seed, Times), iter: Schools, threads: 1);
}
