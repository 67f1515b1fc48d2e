using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.Rendering;

namespace School.Web.Platform.Forms.Fields;

/// <summary>The fields of this page in the order they were drawn, so that the error summary can link to them in that order.</summary>
internal sealed class FormFields
{
    private readonly List<(string Name, string Id, string Label)> drawn = [];

    public static FormFields Of(ViewContext view)
    {
        if (view.HttpContext.Items[typeof(FormFields)] is not FormFields fields)
        {
            view.HttpContext.Items[typeof(FormFields)] = fields = new FormFields();
        }

        return fields;
    }

    public void Drew(string name, string id, string label) => drawn.Add((name, id, label));

    /// <summary>Every error sentence with the id of its field, if the page has one; the page's own errors first.</summary>
    public IEnumerable<(string? Id, string Sentence)> Problems(ModelStateDictionary state)
    {
        var order = drawn.Select((field, place) => (field, place)).GroupBy(x => x.field.Name, StringComparer.OrdinalIgnoreCase)
            .ToDictionary(group => group.Key, group => group.First(), StringComparer.OrdinalIgnoreCase);
        return state.Where(entry => entry.Value is { Errors.Count: > 0 })
            .Select(entry => (Entry: entry, Known: order.TryGetValue(entry.Key, out var at), At: at))
            .OrderBy(x => x.Known ? x.At.place : -1)
            .SelectMany(x => x.Entry.Value!.Errors.Select(error => (x.Known ? x.At.field.Id : null, FormSetup.Sentence(error, x.Known ? x.At.field.Label : null))))
            .Distinct();
    }
}
