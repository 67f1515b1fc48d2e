using System.Globalization;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.ModelBinding.Metadata;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Primitives;
using NodaTime;
using School.Web.Platform.Forms;
using Xunit;

namespace School.Web.Tests.Platform.Forms;

public sealed class DateAndTimeBindingTests
{
    [Theory]
    [InlineData("27", "3", "2008")]
    [InlineData(" 27 ", "03", "2008")]
    [InlineData("27", "March", "2008")]
    [InlineData("27", "mar", "2008")]
    public async Task Three_fields_make_a_date(string day, string month, string year)
    {
        var (value, errors) = await Bind<LocalDate?>(new LocalDateBinder(), Parts(day, month, year));

        Assert.Empty(errors);
        Assert.Equal(new LocalDate(2008, 3, 27), value);
    }

    [Theory]
    [InlineData("31", "2", "2008", LocalDateBinder.NotReal)]
    [InlineData("29", "2", "2009", LocalDateBinder.NotReal)]
    [InlineData("x", "3", "2008", LocalDateBinder.NotReal)]
    [InlineData("27", "", "2008", LocalDateBinder.Incomplete)]
    [InlineData("27", "3", "08", LocalDateBinder.ShortYear)]
    public async Task A_date_that_cannot_be_is_refused_in_a_sentence_and_what_was_typed_stays(string day, string month, string year, string sentence)
    {
        var state = new ModelStateDictionary();
        var (value, errors) = await Bind<LocalDate?>(new LocalDateBinder(), Parts(day, month, year), state);

        Assert.Null(value);
        Assert.Equal([sentence], errors);
        Assert.Equal(day, state["Born.Day"]!.AttemptedValue);
        Assert.Equal(year, state["Born.Year"]!.AttemptedValue);
    }

    [Fact]
    public async Task Three_empty_fields_are_no_date_and_no_error()
    {
        var (value, errors) = await Bind<LocalDate?>(new LocalDateBinder(), Parts("", "", ""));

        Assert.Null(value);
        Assert.Empty(errors);
    }

    [Theory]
    [InlineData("2027-01-14")]
    [InlineData("14/1/2027")]
    [InlineData("14 1 2027")]
    [InlineData("14 January 2027")]
    public async Task One_field_takes_a_date_as_sent_or_as_typed(string text)
    {
        var (value, errors) = await Bind<LocalDate>(new LocalDateBinder(), new() { ["Born"] = text });

        Assert.Empty(errors);
        Assert.Equal(new LocalDate(2027, 1, 14), value);
    }

    [Fact]
    public async Task A_date_that_must_be_there_is_asked_for() =>
        Assert.Equal([LocalDateBinder.Missing], (await Bind<LocalDate>(new LocalDateBinder(), new() { ["Born"] = "" })).Errors);

    [Theory]
    [InlineData("14:15")]
    [InlineData("14:15:00")]
    [InlineData("14.15")]
    [InlineData("1415")]
    [InlineData("2:15pm")]
    [InlineData("2.15 PM")]
    public async Task A_time_is_read_as_sent_or_as_typed(string text)
    {
        var (value, errors) = await Bind<LocalTime>(new LocalTimeBinder(), new() { ["Born"] = text });

        Assert.Empty(errors);
        Assert.Equal(new LocalTime(14, 15), value);
    }

    [Theory]
    [InlineData("25:00", LocalTimeBinder.NotReal)]
    [InlineData("soon", LocalTimeBinder.NotReal)]
    [InlineData("", LocalTimeBinder.Missing)]
    public async Task A_time_that_cannot_be_is_refused_in_a_sentence(string text, string sentence) =>
        Assert.Equal([sentence], (await Bind<LocalTime>(new LocalTimeBinder(), new() { ["Born"] = text })).Errors);

    private static Dictionary<string, StringValues> Parts(string day, string month, string year) =>
        new() { ["Born.Day"] = day, ["Born.Month"] = month, ["Born.Year"] = year };

    private static async Task<(T? Value, IReadOnlyList<string> Errors)> Bind<T>(
        IModelBinder binder, Dictionary<string, StringValues> form, ModelStateDictionary? state = null)
    {
        var services = new ServiceCollection().AddLogging().AddMvcCore().Services.BuildServiceProvider();
        var context = new DefaultModelBindingContext
        {
            ActionContext = new ActionContext { HttpContext = new DefaultHttpContext { RequestServices = services } },
            ModelMetadata = services.GetRequiredService<IModelMetadataProvider>().GetMetadataForType(typeof(T)),
            ModelName = "Born",
            ModelState = state ??= new ModelStateDictionary(),
            ValueProvider = new FormValueProvider(BindingSource.Form, new FormCollection(form), CultureInfo.InvariantCulture),
        };
        await binder.BindModelAsync(context);
        return (context.Result.Model is T value ? value : default,
            [.. state.Values.SelectMany(entry => entry.Errors).Select(error => error.ErrorMessage)]);
    }
}
