using School.Core.Travel;

namespace School.Core.Tests.Travel;

/// <summary>Lines of the open postcode file, as published and as they ought not to be.</summary>
public sealed class CodePointTests
{
    // The first three are lines of Code-Point Open as its readers quote them; the last has the postcode's form of the
    // fuller Code-Point (docs.os.uk), at the place of the first.
    [Theory]
    [InlineData("""
        "N1 0AA",10,530626,183961,"E92000001","E19000003","E18000007","","E09000019","E05000368"
        """, "N1 0AA", 51.539442, -0.117873, 10)]
    [InlineData("""
        "SE9 9DE",10,542733,174310,"E92000001","E19000003","E18000007","","E09000011","E05000219"
        """, "SE9 9DE", 51.449793, 0.052685, 10)]
    [InlineData("""
        "N9  9ZW",10,534152,193613,"E92000001","E19000003","E18000007","","E09000010","E05000197"
        """, "N9 9ZW", 51.625352, -0.063330, 10)]
    [InlineData("""
        "SO160AS",60,530626,183961,"E92000001","","","","",""
        """, "SO16 0AS", 51.539442, -0.117873, 60)]
    public void Published_lines_are_read(string line, string postcode, double latitude, double longitude, int quality)
    {
        Assert.Equal(CodePointKind.Taken, CodePoint.Read(line.Trim(), CodePointColumns.Published, out var point, out var problem));

        Assert.Equal((postcode, quality, ""), (point.Postcode, point.Quality, problem));
        Assert.InRange(point.At.DistanceMetres(new(latitude, longitude)), 0, 5);
    }

    [Fact]
    public void A_postcode_without_a_position_is_left_out_and_not_put_into_the_sea() => Assert.Equal(
        CodePointKind.WithoutPosition, CodePoint.Read("\"N1 0ZZ\",90,0,0,\"E92000001\",\"\",\"\",\"\",\"\",\"\"", CodePointColumns.Published, out _, out _));

    [Theory]
    [InlineData("\"N1 0AA\",10,530626,183961", "4 columns, where 10 are expected.")]
    [InlineData("10,\"N1 0AA\",530626,183961,\"\",\"\",\"\",\"\",\"\",\"\"", "“10” stands where the postcode is expected.")]
    [InlineData("\"N1 0AA\",530626,10,183961,\"\",\"\",\"\",\"\",\"\",\"\"", "“530626” stands where the quality of the position is expected")]
    [InlineData("\"N1 0AA\",8,530626,183961,\"\",\"\",\"\",\"\",\"\",\"\"", "“8” stands where the quality")]
    [InlineData("\"N1 0AA\",10,51.5,-0.1,\"\",\"\",\"\",\"\",\"\",\"\"", "“51.5” and “-0.1” stand where easting and northing are expected")]
    [InlineData("\"N1 0AA\",10,0,0,\"\",\"\",\"\",\"\",\"\",\"\"", "0, 0 lies outside Great Britain.")]
    [InlineData("\"N1 0AA\",10,183961,5306260,\"\",\"\",\"\",\"\",\"\",\"\"", "lies outside Great Britain.")]
    [InlineData("\"N1 0AA\",10,530626,183961,\"\",\"E0500", "a quotation mark is not closed. The file may be cut off here.")]
    [InlineData("", "1 columns, where 10 are expected.")]
    public void What_is_not_such_a_line_is_told(string line, string problem)
    {
        Assert.Equal(CodePointKind.Faulty, CodePoint.Read(line, CodePointColumns.Published, out _, out var told));
        Assert.Contains(problem, told, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("PC,PQ,EA,NO,CY,RH,LH,CC,DC,WC", 0, 3, 10)]
    [InlineData("\"Northings\",\"Eastings\",\"Positional_quality_indicator\",\"Postcode\"", 3, 0, 4)]
    public void Columns_are_found_by_a_line_of_their_names(string header, int postcode, int northing, int count)
    {
        var columns = CodePointColumns.OfHeader(header);

        Assert.Equal((postcode, northing, count), (columns!.Postcode, columns.Northing, columns.Count));
        Assert.Null(CodePointColumns.OfHeader("\"N1 0AA\",10,530626,183961"));
    }
}
