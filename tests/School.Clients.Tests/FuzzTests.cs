using CsCheck;
using School.Tests;
using School.Web.Tests.Contract;

namespace School.Clients.Tests;

/// <summary>The long form of the fuzzing that the ordinary tests do shortly.</summary>
public sealed class FuzzTests(TestPostgres postgres)
{
    private const int Schools = 2;
    private const int Times = 10;

    [Fact]
    public Task No_answer_lies_outside_the_document() =>
        Gen.UInt.SampleAsync(seed => FuzzedSchool.FuzzAsync(postgres, seed, Times), iter: Schools, threads: 1);
}
