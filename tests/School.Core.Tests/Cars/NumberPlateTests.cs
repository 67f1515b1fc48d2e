using School.Core.Cars;

namespace School.Core.Tests.Cars;

public sealed class NumberPlateTests
{
    // Forms: DVLA leaflet INF104, from memory.
    [Theory]
    [InlineData("lk24fld", "LK24 FLD")]
    [InlineData(" LK24  FLD ", "LK24 FLD")]
    [InlineData("LK-24-FLD", "LK24 FLD")]
    [InlineData("a123bcd", "A123 BCD")]
    [InlineData("A1BCD", "A1 BCD")]
    [InlineData("abc123d", "ABC 123D")]
    [InlineData("ABC 1", "ABC 1")]
    [InlineData("AIZ 1234", "AIZ 1234")]
    [InlineData("1234ab", "1234 AB")]
    [InlineData("AB1234CD", "AB1234CD")]
    public void One_car_has_one_spelling(string typed, string kept)
    {
        Assert.True(NumberPlate.TryParse(typed, out var plate, out _));
        Assert.Equal(kept, plate);
        Assert.True(NumberPlate.TryParse(plate, out var again, out _));
        Assert.Equal(kept, again);
    }

    [Theory]
    [InlineData(null, "plate_missing")]
    [InlineData(" - ", "plate_missing")]
    [InlineData("A", "plate_form")]
    [InlineData("LK24 FLD 99", "plate_form")]
    [InlineData("LK24 FL🚗", "plate_form")]
    [InlineData("ЛК24 ФЛД", "plate_form")]
    public void What_is_no_number_plate_is_refused(string? typed, string code)
    {
        Assert.False(NumberPlate.TryParse(typed, out _, out var problem));
        Assert.Equal(code, problem.Code);
    }
}
