using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Html;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Mvc.ViewFeatures;
using Microsoft.AspNetCore.Razor.TagHelpers;
using NodaTime;
using School.Web.Platform.Forms.Fields;
using Xunit;

namespace School.Web.Tests.Platform.Layout;

public sealed class FieldTests
{
    private readonly ViewContext view = new()
    {
        HttpContext = new DefaultHttpContext(),
        ViewData = new ViewDataDictionary(new EmptyModelMetadataProvider(), new ModelStateDictionary()),
    };

    [Fact]
    public void A_wrong_field_keeps_what_was_typed_and_says_what_is_wrong_beside_it()
    {
        view.ViewData.ModelState.SetModelValue("Input.Email", "a\"b", "a\"b");
        view.ViewData.ModelState.AddModelError("Input.Email", "Enter an address such as name@example.org");
        var html = Draw(new FieldTagHelper { Label = "Email", Hint = "We send lesson times here.", Type = "email" }, "Input.Email", "old@larkfield.example");

        Assert.Contains("<label for=\"Input_Email\">Email</label>", html, StringComparison.Ordinal);
        Assert.Contains("value=\"a&quot;b\"", html, StringComparison.Ordinal);
        Assert.Contains("aria-describedby=\"Input_Email-hint Input_Email-error\"", html, StringComparison.Ordinal);
        Assert.Contains("aria-invalid=\"true\"", html, StringComparison.Ordinal);
        Assert.Contains("<p class=\"error\" id=\"Input_Email-error\">Enter an address such as name@example.org</p>", html, StringComparison.Ordinal);
    }

    [Fact]
    public void A_password_is_never_sent_back()
    {
        view.ViewData.ModelState.SetModelValue("Password", "correct horse", "correct horse");

        Assert.DoesNotContain("horse", Draw(new FieldTagHelper { Label = "Password", Type = "password" }, "Password", ""), StringComparison.Ordinal);
    }

    [Fact]
    public void A_birth_date_is_three_fields_that_keep_what_was_typed()
    {
        view.ViewData.ModelState.SetModelValue("Born.Month", "Feb", "Feb");
        var html = Draw(new KnownDateTagHelper { Label = "Date of birth", Birthday = true }, "Born", new LocalDate(2008, 3, 27));

        Assert.StartsWith("<fieldset", html, StringComparison.Ordinal);
        Assert.Contains("<legend>Date of birth</legend>", html, StringComparison.Ordinal);
        Assert.Matches("name=\"Born.Day\"[^>]*value=\"27\"", html);
        Assert.Matches("name=\"Born.Month\"[^>]*value=\"Feb\"", html);
        Assert.Contains("autocomplete=\"bday-year\"", html, StringComparison.Ordinal);
    }

    [Fact]
    public void Dates_and_times_ask_with_their_own_inputs()
    {
        Assert.Matches("type=\"date\"[^>]*value=\"2027-01-14\"", Draw(new FieldTagHelper { Label = "Day" }, "Day", new LocalDate(2027, 1, 14)));
        Assert.Matches("type=\"time\"[^>]*value=\"09:05\"", Draw(new FieldTagHelper { Label = "Start" }, "Start", new LocalTime(9, 5)));
    }

    [Fact]
    public void The_summary_lists_page_errors_first_and_then_fields_in_the_order_they_are_read()
    {
        var state = view.ViewData.ModelState;
        state.AddModelError("A", "Enter A");
        state.AddModelError("B", "Enter B");
        state.AddModelError("", "That time has just gone. Choose another.");
        Draw(new FieldTagHelper { Label = "B" }, "B", "");
        Draw(new FieldTagHelper { Label = "A" }, "A", "");
        var html = Draw(new ErrorSummaryTagHelper { ViewContext = view });

        Assert.Contains("Please look at these again", html, StringComparison.Ordinal);
        Assert.Contains("<li>That time has just gone. Choose another.</li><li><a href=\"#B\">Enter B</a></li><li><a href=\"#A\">Enter A</a></li>", html, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_errors_there_is_no_summary() => Assert.Empty(Draw(new ErrorSummaryTagHelper { ViewContext = view }));

    private string Draw<T>(FieldBase field, string name, T value)
    {
        var metadata = new EmptyModelMetadataProvider();
        field.ViewContext = view;
        field.For = new ModelExpression(name, metadata.GetModelExplorerForType(typeof(T), value));
        return Draw(field);
    }

    private static string Draw(TagHelper helper)
    {
        var output = new TagHelperOutput("field", [], (_, _) => Task.FromResult<TagHelperContent>(new DefaultTagHelperContent()));
        helper.Process(new TagHelperContext([], new Dictionary<object, object>(), "test"), output);
        using var text = new StringWriter();
        ((IHtmlContent)output).WriteTo(text, HtmlEncoder.Default);
        return text.ToString();
    }
}
