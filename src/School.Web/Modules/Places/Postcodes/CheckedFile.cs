using School.Core.Travel;

namespace School.Web.Modules.Places.Postcodes;

/// <summary>A fault of a postcode file.</summary>
internal sealed record FileFault(string File, int Line, string Problem)
{
    public string Sentence => $"{File}, line {Line}: {Problem}";
}

/// <summary>A postcode file that was read once from end to end.</summary>
internal sealed class CheckedFile(PostcodeFile file, Action<string>? say)
{
    /// <summary>Faults that are told at once; a file of another kind has one in every line.</summary>
    public const int MostFaults = 20;

    private const int Step = 200_000;

    private readonly List<FileFault> _faults = [];

    public IReadOnlyList<FileFault> Faults => _faults;

    public int Taken { get; private set; }

    public int Roughly { get; private set; }

    public int LeftOut { get; private set; }

    /// <summary>Reads all of it and counts; faults are collected.</summary>
    public void Check(CancellationToken cancel)
    {
        foreach (var (_, point) in Points())
        {
            cancel.ThrowIfCancellationRequested();
            Taken++;
            Roughly += point.Quality >= CodePoint.Rough ? 1 : 0;
            Say(Taken, "checked");
            if (_faults.Count >= MostFaults)
            {
                return;
            }
        }
    }

    /// <summary>The postcodes in the order of the file, each with its line. Lines with faults are noted and passed over.</summary>
    public IEnumerable<(PostcodeLine Line, PostcodePoint Point)> Points()
    {
        var columns = CodePointColumns.Published;
        foreach (var line in file.Lines())
        {
            if (line.Fault is { } fault)
            {
                Note(line, fault);
                continue;
            }

            if (line.Number == 1)
            {
                var header = CodePointColumns.OfHeader(line.Text);
                columns = header ?? CodePointColumns.Published;
                if (header is not null)
                {
                    continue;
                }
            }

            switch (CodePoint.Read(line.Text, columns, out var point, out var problem))
            {
                case CodePointKind.Taken:
                    yield return (line, point);
                    break;
                case CodePointKind.WithoutPosition:
                    LeftOut++;
                    break;
                default:
                    Note(line, problem);
                    break;
            }

            if (_faults.Count >= MostFaults)
            {
                yield break;
            }
        }
    }

    public void Say(int count, string what)
    {
        if (say is not null && count % Step == 0)
        {
            say($"{count:N0} postcodes {what}");
        }
    }

    private void Note(PostcodeLine line, string problem) => _faults.Add(new(line.File, line.Number, problem));
}
